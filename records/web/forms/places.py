"""Forms for places: add, rename, retire."""

from typing import Any

from django import forms
from django.http import QueryDict

from records.models import Place, PlaceKind
from records.web.forms.chosen import thing
from records.web.forms.fields import CountField, ThingField, WordField
from records.web.forms.verb_form import Thing, VerbForm


class Add(VerbForm):
    """A new place."""

    verb = "places.add"
    title = "Add a place"
    button = "Add"
    about = "Anywhere a thing can be. A flat, house or unit gets its first line at once."
    rare = ("storey", "note")

    parent = ThingField(
        "place", label="Inside", required=False, help_text="Empty for a new estate at the top."
    )
    kind = forms.ChoiceField(label="Kind", choices=[("", "choose one"), *PlaceKind.choices])
    name = WordField(label="Name", max_length=80)
    storey = CountField(
        label="Storey", required=False, help_text="For a floor: 0 is the ground floor."
    )
    note = WordField(label="Note", required=False, max_length=300)

    def after(self, result: Any) -> Thing | None:
        return "place", result.pk


class Rename(VerbForm):
    """A place with another name."""

    verb = "places.rename"
    title = "Rename a place"
    button = "Rename"
    about = "Give a place another name. All inside it is found by the new name at once."

    place = ThingField("place", label="Place")
    name = WordField(label="Name", max_length=80)

    @classmethod
    def known(cls, query: QueryDict) -> dict[str, Any]:
        found = thing(Place.objects.all(), query.get("place", ""))
        return {"name": found.name} if found else {}

    def after(self, result: Any) -> Thing | None:
        return "place", self.cleaned_data["place"]


class Retire(VerbForm):
    """A place that is no longer there."""

    verb = "places.retire"
    title = "Retire a place"
    button = "Retire"
    about = "Mark a place and all inside it as no longer there. Its history stays."
    is_destructive = True

    place = ThingField("place", label="Place")

    def before(self) -> Thing | None:
        found = Place.objects.filter(pk=self.cleaned_data["place"]).first()
        above = Place.objects.get_parent(found) if found else None
        return ("place", above.pk) if above else None


class Reinstate(VerbForm):
    """A retired place that is there again."""

    verb = "places.reinstate"
    title = "Reinstate a place"
    button = "Reinstate"
    about = "Mark a retired place and all inside it as there again."

    place = ThingField("place", label="Place")

    def after(self, result: Any) -> Thing | None:
        return "place", self.cleaned_data["place"]
