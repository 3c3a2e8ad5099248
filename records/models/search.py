"""The words by which things are found. Derived from the record, rebuilt by a command."""

from django.db import models

from records.models.kept import kept


class Noun(models.TextChoices):
    """The kinds of thing the one search box finds."""

    PLACE = "place", "place"
    EQUIPMENT = "equipment", "equipment"
    CABLE = "cable", "cable"
    LINE = "line", "line"


@kept("noun", derived=True, personal=("words",))
class SearchText(models.Model):
    """The normalised words of one thing: its own name and those of the places around it.

    Each engine's own text index lies over the words of the history twin, standing versions and
    past ones alike (see text_index.py).
    """

    noun = models.CharField(max_length=9, choices=Noun)
    thing_id = models.BigIntegerField()
    words = models.TextField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["noun", "thing_id"], name="search_text_is_unique"),
        )

    def __str__(self) -> str:
        return self.words
