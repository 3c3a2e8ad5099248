"""The form that gives the flats of a building new names: one line of text a flat.

A line reads "Flat 12 = Flat 112", so that no name slips to the flat beside it; a pasted column of
new names, as many as there are flats, will do as well.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.http import QueryDict

from records.models import Place, PlaceKind
from records.queries.buildings import dwellings_of
from records.web.forms.fields import ThingField
from records.web.forms.verb_form import Thing, VerbForm
from records.web.whole import whole

BECOMES = " = "


class Renumber(VerbForm):
    """New names for the flats of a building, all at once."""

    verb = "buildings.renumber"
    title = "Renumber flats"
    button = "Renumber"
    about = (
        "Give the flats of a building new names all at once, so that two may swap theirs. "
        "Lines keep their identifiers."
    )

    building = ThingField("place", label="Building")
    names = forms.CharField(
        label="New names",
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false"}),
        help_text=(
            "One line a flat, in the order of the building: its name now, =, its new name. Alter "
            "what stands behind the =. Or paste a column of new names, one for each flat."
        ),
    )

    def __init__(self, data: QueryDict) -> None:
        """List the flats of the building that is chosen, unless names were sent."""
        found = Place.objects.filter(pk=whole(data.get("building", "")), retired=False).first()
        self.flats: Sequence[Place] = dwellings_of(found) if found else ()
        if self.flats and not data.get("names", "").strip():
            data = data.copy()
            data["names"] = "\n".join(f"{each}{BECOMES}{each}" for each in self.flats)
        super().__init__(data)
        if not self.flats:
            del self.fields["names"]

    @classmethod
    def fields_of(cls, arguments: Mapping[str, Any]) -> dict[str, Any]:
        new_names = dict(zip(arguments["flats"], arguments["names"], strict=False))
        flat = Place.objects.filter(pk__in=new_names).first()
        around = list(Place.objects.get_ancestors(flat)) if flat else []
        buildings = [each for each in around if each.kind == PlaceKind.BUILDING] or around
        flats = dwellings_of(buildings[-1]) if buildings else []
        lines = [f"{each}{BECOMES}{new_names.get(each.pk, each)}" for each in flats]
        building = buildings[-1].pk if buildings else ""
        return {"building": building, "names": "\n".join(lines)}

    def clean_building(self) -> int:
        """Refuse a place without flats, as there is nothing to renumber."""
        chosen: int = self.cleaned_data["building"]
        if not self.flats:
            raise forms.ValidationError("There are no flats in it. Choose the building around.")
        return chosen

    def clean_names(self) -> dict[int, str]:
        """Return the new names of the flats that get one."""
        listed = [each.strip() for each in self.cleaned_data["names"].splitlines()]
        lines = [each for each in listed if each]
        if len(lines) != len(self.flats):
            raise forms.ValidationError(
                f"There are {len(self.flats)} flats and {len(lines)} lines. "
                "Give one line to each flat, also where its name stays."
            )
        named = {
            flat.pk: (flat.name, _new_name(number, line, flat))
            for number, (line, flat) in enumerate(zip(lines, self.flats, strict=True), start=1)
        }
        altered = {pk: new for pk, (old, new) in named.items() if new != old}
        if not altered:
            raise forms.ValidationError("Every flat would keep its name.", code="required")
        return altered

    def arguments(self) -> dict[str, Any]:
        names: dict[int, str] = self.cleaned_data["names"]
        return {"flats": list(names), "names": list(names.values())}

    def after(self, result: Any) -> Thing | None:
        return "place", self.cleaned_data["building"]


def _new_name(number: int, line: str, flat: Place) -> str:
    old, becomes, new = line.partition(BECOMES)
    if not becomes:
        return line
    if old.strip() != flat.name:
        raise forms.ValidationError(
            f"Line {number} begins with {old.strip()}, but that flat is {flat.name} now. "
            "Keep the lines in their order."
        )
    return new.strip()
