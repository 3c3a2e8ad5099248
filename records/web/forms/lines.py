"""The form for lines: open one more for a dwelling."""

from typing import Any

from records.web.forms.fields import ThingField, WordField
from records.web.forms.verb_form import Thing, VerbForm


class Open(VerbForm):
    """A further line of a dwelling."""

    verb = "lines.open"
    title = "Open a line"
    button = "Open"
    about = "A dwelling has its first line from the start. Open one more where it needs two legs."
    rare = ("identifier", "outside_ref")

    place = ThingField("dwelling", label="Dwelling")
    identifier = WordField(
        label="Identifier",
        required=False,
        max_length=30,
        help_text="Empty: the next number. It is never used for another line.",
    )
    outside_ref = WordField(
        label="Outside reference",
        required=False,
        max_length=60,
        help_text="A number of another record. Never a person's name.",
    )

    def after(self, result: Any) -> Thing | None:
        return "line", result.pk
