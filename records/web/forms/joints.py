"""Forms for joints: join, part, patch, measure."""

from typing import Any

from django import forms
from django.http import QueryDict

from records.models import EntryKind, JointEnd, JointKind, Point
from records.queries import near
from records.queries.options import PORT_ROLES
from records.web.forms.chosen import thing
from records.web.forms.fields import FigureField, ThingField, WordField, entry_field
from records.web.forms.verb_form import Thing, VerbForm


def _joint_point(joint: int) -> Thing | None:
    """Return the first point of a joint."""
    end = JointEnd.objects.filter(joint=joint).order_by("side").first()
    return ("point", end.point_id) if end else None


class _OfJoint(VerbForm):
    """A form about one joint, which leads back to one of its points."""

    joint = ThingField("joint", label="Joint")

    def before(self) -> Thing | None:
        return _joint_point(self.cleaned_data["joint"])


class Join(VerbForm):
    """Two points made one."""

    verb = "joints.join"
    title = "Join two points"
    button = "Join"
    about = (
        "Make two points one: mated connectors or a splice. Light flows on at once, and a leg "
        "that lights a home counts as live."
    )
    rare = ("stands_in", "tray", "loss_db", "entry")

    a = ThingField("point", label="First point")
    b = ThingField("point", label="Second point")
    kind = forms.ChoiceField(
        label="How they are joined", choices=JointKind.choices, widget=forms.RadioSelect
    )
    stands_in = ThingField(
        "equipment", label="Housed in", required=False, help_text="The closure, panel or outlet."
    )
    tray = WordField(label="Tray", required=False, max_length=20)
    loss_db = FigureField(
        "dB",
        label="Measured loss",
        required=False,
        help_text="Replaces the catalogue's figures for this joint.",
    )
    entry = entry_field(
        (EntryKind.MATED, EntryKind.FUSION, EntryKind.MECHANICAL),
        label="Loss figures",
        empty="the usual ones for its kind",
        required=False,
    )

    @classmethod
    def known(cls, query: QueryDict) -> dict[str, Any]:
        point = thing(Point.objects.all(), query.get("a", ""))
        if point is None:
            return {}
        return {"kind": JointKind.MATED if point.polish else JointKind.FUSION}

    def nearby(self, name: str) -> list[int]:
        a, b = self.chosen("a"), self.chosen("b")
        if name == "stands_in":
            either = a or b
            return near.housings(either) if either else []
        other = {"a": b, "b": a}[name]
        return near.beside(other) if other else []

    def after(self, result: Any) -> Thing | None:
        return "point", self.cleaned_data["a"]


class Part(_OfJoint):
    """A joint undone."""

    verb = "joints.part"
    title = "Part a joint"
    button = "Part"
    about = "Take two joined points apart. All beyond goes dark."
    is_destructive = True


class Patch(VerbForm):
    """A cord and its two joints."""

    verb = "joints.patch"
    title = "Patch two ports"
    button = "Patch"
    about = "Put a cord between two ports: the cord and its two joints in one go."
    rare = ("name", "entry")

    a = ThingField("port", label="From port")
    b = ThingField("port", label="To port")
    length_m = FigureField("m", label="Length of the cord", initial=2)
    name = WordField(
        label="Name of the cord",
        required=False,
        max_length=60,
        help_text="Empty: the next free number at its first port's place.",
    )
    entry = entry_field(
        (EntryKind.FIBRE,), label="Fibre type", empty="the usual one", required=False
    )

    def nearby(self, name: str) -> list[int]:
        other = {"a": self.chosen("b"), "b": self.chosen("a")}[name]
        return near.beside(other, roles=PORT_ROLES) if other else []

    def after(self, result: Any) -> Thing | None:
        return "point", self.cleaned_data["a"]


class Measure(_OfJoint):
    """A joint's measured loss."""

    verb = "joints.measure"
    title = "Measured loss of a joint"
    button = "Record the loss"
    about = "A measured loss replaces the catalogue's three figures for this very joint."

    loss_db = FigureField("dB", label="Loss")


class Unmeasure(_OfJoint):
    """A joint's measured loss taken back."""

    verb = "joints.unmeasure"
    title = "Take back a joint's measured loss"
    button = "Take back"
    about = "The catalogue's three figures hold for this joint again."
