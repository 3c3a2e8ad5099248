"""Forms for hazard statements: record what an assessor stated, withdraw it."""

from typing import Any

from django import forms

from records.models import HazardLevel, HazardStatement
from records.web.forms.fields import ThingField, WordField
from records.web.forms.verb_form import Thing, VerbForm


class State(VerbForm):
    """A level as a named assessor stated it."""

    verb = "hazards.state"
    title = "Record a hazard statement"
    button = "Record"
    about = (
        "Record what a named assessor stated of the light that can be met at a place. It stands "
        "on the caution there; nothing computes it."
    )

    place = ThingField("place", label="Place")
    hazard_level = forms.ChoiceField(label="Hazard level", choices=HazardLevel.choices)
    assessor = WordField(label="Assessor", max_length=80)
    stated_date = forms.DateField(
        label="Stated on", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    note = WordField(label="Note", required=False, max_length=200)

    def after(self, result: Any) -> Thing | None:
        return "place", self.cleaned_data["place"]


class Withdraw(VerbForm):
    """A statement that holds no longer."""

    verb = "hazards.withdraw"
    title = "Withdraw a hazard statement"
    button = "Withdraw"
    about = "Say that a statement holds no longer. The one before it holds again, if there is one."
    is_destructive = True

    statement = forms.ModelChoiceField(
        HazardStatement.objects.filter(withdrawn=""), label="Statement", empty_label=None
    )
    why = WordField(label="Why", max_length=200)

    def arguments(self) -> dict[str, Any]:
        """Name the statement by its id, as verbs do."""
        return {**super().arguments(), "statement": self.cleaned_data["statement"].pk}

    def before(self) -> Thing | None:
        return "place", self.cleaned_data["statement"].place_id
