"""Forms for equipment: install, move, rename, remove."""

from typing import Any

from django import forms
from django.http import QueryDict

from records.models import EntryKind, Equipment, EquipmentKind
from records.web.forms.chosen import thing
from records.web.forms.fields import (
    CountField,
    PolishField,
    ThingField,
    WordField,
    class_field,
    entry_field,
)
from records.web.forms.verb_form import Thing, VerbForm

_FIELDS = {
    EquipmentKind.OLT: ("ports", "polish"),
    EquipmentKind.SPLITTER: ("entry", "polish"),
    EquipmentKind.PANEL: ("ports", "polish", "back_polish", "entry"),
    EquipmentKind.CLOSURE: (),
    EquipmentKind.OUTLET: ("ports", "polish", "back_polish", "entry"),
    EquipmentKind.COUPLER: ("entry", "polish"),
    EquipmentKind.ATTENUATOR: ("entry", "polish", "back_polish"),
    EquipmentKind.TERMINAL: ("polish", "optical_class"),
}
"""The fields that a kind has beside place, name and serial."""

_TYPES = {
    EquipmentKind.SPLITTER: (EntryKind.SPLITTER, EntryKind.TAP),
    EquipmentKind.COUPLER: (EntryKind.COUPLER,),
    EquipmentKind.ATTENUATOR: (EntryKind.ATTENUATOR,),
}


class Install(VerbForm):
    """A new equipment with its ports."""

    verb = "equipment.install"
    title = "Install equipment"
    button = "Install"
    about = "Put an equipment with its ports into the record."
    asks_first = "kind"

    kind = forms.ChoiceField(label="Kind", choices=EquipmentKind.choices, widget=forms.HiddenInput)
    place = ThingField("place", label="Where it stands")
    name = WordField(label="Name", max_length=60, help_text="As on its label: S1, OLT 2, Outlet.")
    serial = WordField(label="Serial", required=False, max_length=60)
    entry = entry_field((EntryKind.MATED,), label="Type", empty="the usual one", required=False)
    ports = CountField(label="Adapters", initial=1)
    polish = PolishField(label="Its ports have", initial="APC")
    back_polish = PolishField(label="Adapter backs have", usual="what is usual for its kind")
    optical_class = class_field(
        label="Receives", empty="not recorded", required=False, help_text="What it is made for."
    )

    def __init__(self, data: QueryDict) -> None:
        """Keep only the fields of the kind."""
        super().__init__(data)
        kind = data.get("kind", "")
        if kind not in EquipmentKind.values:
            return
        kept = {"kind", "place", "name", "serial", "reason", *_FIELDS[EquipmentKind(kind)]}
        for name in set(self.fields) - kept:
            del self.fields[name]
        self.title = f"Install {_with_article(EquipmentKind(kind).label)}"
        if kind in _TYPES:
            self.fields["entry"] = entry_field(
                _TYPES[EquipmentKind(kind)], label="Type", empty="choose one"
            )
        elif "entry" in self.fields:
            self.fields["entry"].label = "Loss figures of its adapters"
            self.rare = ("entry", "back_polish")
        if kind == EquipmentKind.OLT:
            self.fields["ports"].label = "PON ports"

    def after(self, result: Any) -> Thing | None:
        return "equipment", result.pk


def _with_article(label: str) -> str:
    return f"an {label}" if label[0].lower() in "aeiou" else f"a {label}"


class _OfEquipment(VerbForm):
    """A form about one equipment, whose page it leads back to."""

    equipment = ThingField("equipment", label="Equipment")

    def after(self, result: Any) -> Thing | None:
        return "equipment", self.cleaned_data["equipment"]


class Move(_OfEquipment):
    """An equipment in another place."""

    verb = "equipment.move"
    title = "Move equipment"
    button = "Move"
    about = "Record that an equipment now stands elsewhere. Its joints stay as they are."

    place = ThingField("place", label="To")


class Rename(_OfEquipment):
    """An equipment with another name or serial."""

    verb = "equipment.rename"
    title = "Rename equipment"
    button = "Rename"
    about = "Give an equipment another name, or another serial."

    name = WordField(label="Name", max_length=60)
    serial = WordField(label="Serial", required=False, max_length=60)

    @classmethod
    def known(cls, query: QueryDict) -> dict[str, Any]:
        found = thing(Equipment.objects.all(), query.get("equipment", ""))
        return {"name": found.name, "serial": found.serial} if found else {}


class Remove(VerbForm):
    """An equipment taken out of the record."""

    verb = "equipment.remove"
    title = "Remove equipment"
    button = "Remove"
    about = (
        "Take an equipment and its ports out of the record. Its history stays; tags are voided."
    )
    is_destructive = True

    equipment = ThingField("equipment", label="Equipment")

    def before(self) -> Thing | None:
        found = Equipment.objects.filter(pk=self.cleaned_data["equipment"]).first()
        return ("place", found.place_id) if found else None
