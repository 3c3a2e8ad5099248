"""Keep the planner of a job beside its steps, where each step told it until now."""

from typing import Any

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def _name_planners(apps: Any, _editor: Any) -> None:
    """Name who last edited the steps: what the last one tells, else who saved the job."""
    for job in apps.get_model("records", "Job").objects.all():
        told = [step.pop("planned_by", None) for step in job.steps]
        job.planned_by_id = (told and told[-1]) or job.saved_by_id
        job.save(update_fields=["planned_by", "steps"])


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0008_caution_sign"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="job",
            name="planned_by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="jobs_planned",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.RunPython(_name_planners, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="job",
            name="planned_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="jobs_planned",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
    ]
