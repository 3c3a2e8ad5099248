"""Forms for works of several steps in one go: swap, cut, reroute, retire a building."""

from typing import Any

from django import forms

from records.models import EntryKind, JointKind
from records.queries import near
from records.web.forms.fields import (
    CountField,
    FigureField,
    PolishField,
    ThingField,
    WordField,
    class_field,
    entry_field,
    scheme_field,
)
from records.web.forms.places import Retire
from records.web.forms.verb_form import Thing, VerbForm


class SwapEquipment(VerbForm):
    """A new equipment in the place of an old one."""

    verb = "swaps.swap"
    title = "Swap equipment"
    button = "Swap"
    about = (
        "Put a new equipment where an old one is, such as a larger splitter. What hangs on a port "
        "moves to the same port of the new one, bookings too. What is left open is as on the old."
    )
    is_destructive = True
    rare = ("name", "ports", "polish", "optical_class")

    equipment = ThingField("equipment", label="Old equipment")
    entry = entry_field(
        (EntryKind.SPLITTER, EntryKind.TAP, EntryKind.COUPLER, EntryKind.ATTENUATOR),
        label="Type of the new one",
        empty="as on the old one",
        required=False,
    )
    serial = WordField(label="Serial of the new one", required=False, max_length=60)
    name = WordField(label="Name", required=False, max_length=60)
    ports = CountField(label="PON ports or adapters", required=False)
    polish = PolishField(label="Its ports have", usual="what the old one has")
    optical_class = class_field(label="Receives", empty="as on the old one", required=False)

    def after(self, result: Any) -> Thing | None:
        return "equipment", result.pk


class SwapCable(VerbForm):
    """A new cable in the place of an old one."""

    verb = "cable_works.swap"
    title = "Swap a cable"
    button = "Swap"
    about = (
        "Lay a new cable beside an old one, move all joints over fibre by fibre, remove the old. "
        "Its measured losses, readings and tags go with it."
    )
    is_destructive = True
    rare = ("name", "entry", "colour_scheme")

    cable = ThingField("cable", label="Old cable")
    length_m = FigureField("m", label="Length of the new fibre", help_text="Slack included.")
    fibre_count = CountField(label="Fibres", required=False, help_text="Empty: as many as before.")
    name = WordField(label="Name", required=False, max_length=60)
    entry = entry_field(
        (EntryKind.FIBRE,), label="Fibre type", empty="as on the old one", required=False
    )
    colour_scheme = scheme_field(label="Colour code", required=False)

    def after(self, result: Any) -> Thing | None:
        return "cable", result.pk


class Reroute(VerbForm):
    """The same cable by another way."""

    verb = "cable_works.reroute"
    title = "Reroute a cable"
    button = "Reroute"
    about = (
        "Take the same cable another way. A measured loss was that of the old way. An end that "
        "goes to another place must be parted first."
    )
    rare = ("a_place", "b_place")

    cable = ThingField("cable", label="Cable")
    length_m = FigureField("m", label="Length of the fibre now", help_text="Slack included.")
    a_place = ThingField("place", label="A end now at", required=False)
    b_place = ThingField("place", label="B end now at", required=False)

    def after(self, result: Any) -> Thing | None:
        return "cable", result.pk


class Cut(VerbForm):
    """A cable cut and spliced through."""

    verb = "cuts.cut"
    title = "Cut a cable into a closure"
    button = "Cut"
    about = (
        "Cut a cable and splice all its fibres through in a closure. Give the closure that stands "
        "there, or the place and name of a new one. What lies beyond is a cable of its own then."
    )
    is_destructive = True
    rare = ("far_name", "tray_fibres")

    cable = ThingField("cable", label="Cable")
    at_m = FigureField("m", label="Where, from its A end")
    closure = ThingField("equipment", label="Closure that stands there", required=False)
    place = ThingField("place", label="Or place of a new closure", required=False)
    closure_name = WordField(label="Name of the new closure", required=False, max_length=60)
    kind = forms.ChoiceField(
        label="How the fibres are joined",
        choices=[(kind, kind.label) for kind in (JointKind.FUSION, JointKind.MECHANICAL)],
        initial=JointKind.FUSION,
        widget=forms.RadioSelect,
    )
    far_name = WordField(label="Name of the cable beyond", required=False, max_length=60)
    tray_fibres = CountField(label="Fibres on a tray", initial=12)

    def nearby(self, name: str) -> list[int]:
        cable = self.chosen("cable")
        if cable is None:
            return []
        return near.closures_along(cable) if name == "closure" else near.places_along(cable)

    def after(self, result: Any) -> Thing | None:
        return "equipment", result.closure.pk


class RetireBuilding(Retire):
    """A building retired with all that stands in it."""

    verb = "buildings.retire"
    title = "Retire a building"
    button = "Retire all of it"
    about = (
        "Retire a building with all that stands in it: part, release, remove, retire. What hangs "
        "below and stands elsewhere goes dark. Its history stays."
    )
