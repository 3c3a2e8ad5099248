"""Forms for cables and their fibres: lay, measure, damage, mend, remove."""

from decimal import Decimal
from typing import Any

from django import forms
from django.http import QueryDict

from records.models import Cable, CableKind, EntryKind
from records.web.forms.chosen import thing
from records.web.forms.fields import (
    BARE,
    CountField,
    FigureField,
    PolishField,
    ThingField,
    WordField,
    entry_field,
    scheme_field,
)
from records.web.forms.verb_form import Thing, VerbForm


class Lay(VerbForm):
    """A new cable or cord."""

    verb = "cables.lay"
    title = "Lay a cable"
    button = "Lay"
    about = "A cable or cord between two places, with its fibres. Join its ends afterwards."
    rare = ("colour_scheme", "entry", "diameter_mm")

    kind = forms.ChoiceField(
        label="What is laid",
        choices=CableKind.choices,
        initial=CableKind.CABLE,
        widget=forms.RadioSelect,
    )
    name = WordField(label="Name", max_length=60, help_text="As on its sheath or label.")
    a_place = ThingField("place", label="From (A end)")
    b_place = ThingField("place", label="To (B end)")
    length_m = FigureField("m", label="Length of the fibre", help_text="Slack included.")
    fibre_count = CountField(label="Fibres", initial=1)
    a_polish = PolishField(label="Fibres at the A end", initial=BARE)
    b_polish = PolishField(label="Fibres at the B end", initial=BARE)
    colour_scheme = scheme_field(label="Colour code", required=False)
    entry = entry_field(
        (EntryKind.FIBRE,), label="Fibre type", empty="the usual one", required=False
    )
    diameter_mm = FigureField(
        "mm", label="Outer diameter", required=False, help_text="For labels that go around it."
    )

    def arguments(self) -> dict[str, Any]:
        given = super().arguments()
        if "diameter_mm" in given:
            given["diameter_mm"] = Decimal(str(given["diameter_mm"]))
        return given

    def after(self, result: Any) -> Thing | None:
        return "cable", result.pk


class _OfFibre(VerbForm):
    """A form about one fibre of a cable, whose page it leads back to."""

    cable = ThingField("cable", label="Cable")
    fibre = CountField(label="Fibre number")

    def after(self, result: Any) -> Thing | None:
        return "cable", self.cleaned_data["cable"]


class Measure(_OfFibre):
    """A fibre's measured length or loss."""

    verb = "cables.measure"
    title = "Measured fibre"
    button = "Record"
    about = (
        "The measured length or loss of one fibre replaces what was reckoned. Give one or both."
    )

    length_m = FigureField("m", label="Length", required=False)
    loss_db = FigureField("dB", label="Loss, end to end", required=False)


class Unmeasure(_OfFibre):
    """A fibre's measured loss taken back."""

    verb = "cables.unmeasure"
    title = "Take back a fibre's measured loss"
    button = "Take back"
    about = "What is reckoned from its length and type holds for this fibre again."


class Damage(_OfFibre):
    """A fibre marked as damaged."""

    verb = "cables.damage"
    title = "Mark a fibre as damaged"
    button = "Mark as damaged"
    about = "A damaged fibre no longer counts as available. Its joints and its light stay."

    why = WordField(label="What is wrong with it", max_length=200)


class Mend(_OfFibre):
    """A damaged fibre marked as sound."""

    verb = "cables.mend"
    title = "Mark a fibre as sound again"
    button = "Mark as sound"
    about = "A mended fibre counts as available again."


class Rename(VerbForm):
    """A cable with another name."""

    verb = "cables.rename"
    title = "Rename a cable"
    button = "Rename"
    about = "Give a cable or cord another name."

    cable = ThingField("cable", label="Cable")
    name = WordField(label="Name", max_length=60)

    @classmethod
    def known(cls, query: QueryDict) -> dict[str, Any]:
        found = thing(Cable.objects.all(), query.get("cable", ""))
        return {"name": found.name} if found else {}

    def after(self, result: Any) -> Thing | None:
        return "cable", self.cleaned_data["cable"]


class Remove(VerbForm):
    """A cable taken out of the record."""

    verb = "cables.remove"
    title = "Remove a cable"
    button = "Remove"
    about = "Take a cable or cord out of the record. Its history stays; its tags are voided."
    is_destructive = True

    cable = ThingField("cable", label="Cable")

    def before(self) -> Thing | None:
        cable = Cable.objects.filter(pk=self.cleaned_data["cable"]).first()
        return ("place", cable.a_place_id) if cable else None
