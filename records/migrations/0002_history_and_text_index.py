"""Install the history triggers and the text index."""

from typing import ClassVar

from django.db import migrations
from django.db.migrations.operations.base import Operation

from records.models.text_index import IndexText
from records.models.trigger_operations import KeepHistory, SealChanges


class Migration(migrations.Migration):
    """What the tables need beside their columns."""

    dependencies: ClassVar = [("records", "0001_initial")]
    operations: ClassVar[list[Operation]] = [
        SealChanges(),
        KeepHistory("place", ignored=("numchild",)),
        KeepHistory("equipment"),
        KeepHistory("cable"),
        KeepHistory("passage"),
        KeepHistory("point"),
        KeepHistory("joint"),
        KeepHistory("jointend"),
        KeepHistory("channel"),
        KeepHistory("line", personal=("outside_ref",)),
        KeepHistory("booking"),
        KeepHistory("reading"),
        KeepHistory("tag"),
        KeepHistory("feed"),
        KeepHistory("searchtext"),
        IndexText(),
    ]
