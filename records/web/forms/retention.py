"""Forms for cutting out what may not be kept for ever. Only an owner's are recorded."""

from datetime import UTC, datetime, time
from typing import Any

from django import forms

from records.queries.retention import named_people
from records.web.forms.fields import RowField, ThingField
from records.web.forms.verb_form import Thing, VerbForm


class ForgetOutsideRef(VerbForm):
    """A line's outside reference, out of the record and its history."""

    verb = "retention.forget_outside_ref"
    title = "Cut out an outside reference"
    button = "Cut it out for ever"
    about = (
        "Cut what leads from a line to a record elsewhere out of this one, its history and what "
        "it is found by. The line stays. It never comes back."
    )
    is_destructive = True

    line = ThingField("line", label="Line")

    def after(self, result: Any) -> Thing | None:
        return "line", result.pk


def _people() -> list[tuple[str, str]]:
    return [(str(each.pk), each.get_username()) for each in named_people()]


class ForgetPerson(VerbForm):
    """A person's name, out of the record."""

    verb = "retention.forget_person"
    title = "Cut out a person's name"
    button = "Cut it out for ever"
    about = (
        "Close a person's account and take its name, address and sign-ins away. What the person "
        "did stays, under a number. It never comes back."
    )
    is_destructive = True

    person = RowField(_people, empty="choose one", label="Person")


class ForgetSightings(VerbForm):
    """Who scanned labels, out of the record."""

    verb = "retention.forget_sightings"
    title = "Cut out who scanned labels"
    button = "Cut them out for ever"
    about = (
        "Cut out who scanned labels before a day. When a label was last seen stays. "
        "It never comes back."
    )
    is_destructive = True

    seen_before = forms.DateField(
        label="Scanned before",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def arguments(self) -> dict[str, Any]:
        day = self.cleaned_data["seen_before"]
        return {"seen_before": datetime.combine(day, time.min, tzinfo=UTC)}
