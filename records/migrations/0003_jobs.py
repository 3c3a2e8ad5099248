"""Add jobs, and let words be cut out of history after their time."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from records.models.text_index import ForgetWords
from records.models.trigger_operations import GoBackWithout, KeepHistory


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0002_history_and_text_index'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('reference', models.CharField(blank=True, max_length=60)),
                ('due_date', models.DateField(blank=True, null=True)),
                ('state', models.CharField(choices=[('drafted', 'drafted'), ('approved', 'approved'), ('built', 'built, not recorded'), ('recorded', 'recorded'), ('dropped', 'dropped')], default='drafted', max_length=8)),
                ('revision', models.PositiveIntegerField(default=1)),
                ('steps', models.JSONField(blank=True, default=list)),
                ('preview', models.JSONField(blank=True, default=dict)),
                ('saved_at', models.DateTimeField()),
                ('approved_revision', models.PositiveIntegerField(blank=True, null=True)),
                ('approved_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='jobs_approved', to=settings.AUTH_USER_MODEL)),
                ('assignee', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='jobs_assigned', to=settings.AUTH_USER_MODEL)),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='jobs', to='records.place')),
                ('saved_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='jobs_saved', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        GoBackWithout(ends=True),
        migrations.AddField(
            model_name='change',
            name='job',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='changes', to='records.job'),
        ),
        GoBackWithout(),
        migrations.AddIndex(
            model_name='job',
            index=models.Index(fields=['state', 'due_date'], name='job_state_due_date'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['drafted', 'approved', 'built', 'recorded', 'dropped'])), name='job_state_is_known'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.UniqueConstraint(condition=models.Q(('reference', ''), _negated=True), fields=('reference',), name='job_reference_is_unique', violation_error_code='name_taken'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(('approved_by__isnull', True), ('approved_revision__isnull', False), _connector='XOR'), name='job_approval_names_its_revision'),
        ),
        KeepHistory('searchtext', personal=('words',), renews=True),
        ForgetWords(),
    ]
