"""Forms for readings: record one, take back a mistaken one."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import QueryDict

from records.models import Direction, Reading
from records.queries.levels import lit_at
from records.web.forms.fields import CountField, FigureField, ThingField, WordField
from records.web.forms.verb_form import Thing, VerbForm
from records.web.whole import whole


class Read(VerbForm):
    """A level as measured."""

    verb = "readings.read"
    title = "Record a reading"
    button = "Record"
    about = "A level measured at a point, to be held against what the record expects there."
    rare = ("direction", "uncertainty_db", "meter", "taken_at", "note")

    point = ThingField("point", label="Where it was measured")
    level_dbm = FigureField("dBm", label="Level", required=False, can_be_negative=True)
    saw_no_light = forms.BooleanField(label="The meter saw no light", required=False)
    wavelength_nm = CountField(label="Wavelength (nm)", help_text="As set on the meter.")
    direction = forms.ChoiceField(
        label="Direction",
        choices=[(Direction.DOWN, "down, to the home"), (Direction.UP, "up, to the OLT")],
        initial=Direction.DOWN,
        widget=forms.RadioSelect,
    )
    uncertainty_db = FigureField(
        "dB", label="Uncertainty of the meter", initial=0.5, required=False
    )
    meter = WordField(label="Meter", required=False, max_length=60, help_text="Type or serial.")
    taken_at = forms.DateTimeField(
        label="When (UTC)",
        required=False,
        help_text="Empty: now.",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    note = WordField(label="Note", required=False, max_length=200)

    @classmethod
    def known(cls, query: QueryDict) -> dict[str, Any]:
        point = whole(query.get("point", ""))
        lit = lit_at([point]) if point is not None else []
        return {"wavelength_nm": lit[0].wavelength_nm} if lit else {}

    @classmethod
    def fields_of(cls, arguments: Mapping[str, Any]) -> dict[str, Any]:
        return {**arguments, "saw_no_light": arguments.get("level_dbm") is None}

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        level_dbm, saw_no_light = given.get("level_dbm"), given.get("saw_no_light")
        if "level_dbm" in given and (level_dbm is None) != bool(saw_no_light):
            both = "Give a level, or tick that no light was seen, not both."
            neither = "Give the level, or tick that the meter saw no light."
            self.add_error(
                "level_dbm",
                forms.ValidationError(both)
                if saw_no_light
                else forms.ValidationError(neither, code="required"),
            )
        return given

    def arguments(self) -> dict[str, Any]:
        given = super().arguments()
        given["level_dbm"] = None if given.pop("saw_no_light") else given["level_dbm"]
        return given

    def after(self, result: Any) -> Thing | None:
        return "point", self.cleaned_data["point"]


class TakeBack(VerbForm):
    """A mistaken reading taken back."""

    verb = "readings.take_back"
    title = "Take back a reading"
    button = "Take back"
    about = "Take back a mistaken reading. The history keeps it."
    is_destructive = True

    reading = ThingField("reading", label="Reading")

    def before(self) -> Thing | None:
        found = Reading.objects.filter(pk=self.cleaned_data["reading"]).first()
        return ("point", found.point_id) if found else None
