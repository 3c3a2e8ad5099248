"""Guard history against rows put into it, replaced in it, and tables emptied at once."""

from typing import ClassVar

from django.db import migrations
from django.db.migrations.operations.base import Operation

from records.models.trigger_operations import RenewTriggers


class Migration(migrations.Migration):
    """Install all triggers anew."""

    dependencies: ClassVar = [("records", "0005_prints")]
    operations: ClassVar[list[Operation]] = [RenewTriggers()]
