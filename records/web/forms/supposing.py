"""The forms of a what-if: what is supposed of the homes of a building, or below a splitter."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from django import forms
from django.http import QueryDict

from records.models import EntryKind
from records.queries.what_if import Supposition
from records.web.forms.fields import RowField, class_field, entry_field

AS_IT_IS = "as it is"

_FIELDS = {"pattern": "first"}
"""Where what is wrong with a part of a supposition is shown, if not at a field of its name."""


def _splitter_field(label: str, empty: str) -> RowField:
    return entry_field((EntryKind.SPLITTER,), label=label, empty=empty, required=False)


class SupposeForm(forms.Form):
    """Another class, an attenuator; empty fields leave the record as it is."""

    optical_class = class_field(label="Technology and class", empty=AS_IT_IS, required=False)
    instead_of = class_field(
        label="Only where it is now",
        empty="any",
        required=False,
        help_text="Where two technologies share the fibre: the one to be replaced.",
    )
    attenuator = entry_field(
        (EntryKind.ATTENUATOR,), label="Attenuator before each home", empty="none", required=False
    )

    def __init__(self, data: QueryDict) -> None:
        """Bind what was asked."""
        super().__init__(data)
        self.label_suffix = ""

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        faults = () if self.errors else self.supposition().faults()
        for fault in faults:
            field = _FIELDS.get(fault.field, fault.field)
            self.add_error(field, f"{fault.message} {fault.hint}")
        return given

    def supposition(self) -> Supposition:
        """Return what is supposed."""
        return Supposition(
            optical_class=self.cleaned_data["optical_class"],
            instead_of=self.cleaned_data["instead_of"],
            attenuator=self.cleaned_data["attenuator"],
            pattern=self.pattern(),
            splitters=self.splitters(),
        )

    def pattern(self) -> Sequence[int]:
        """Return the splitters supposed one after the other on every way."""
        return ()

    def splitters(self) -> Mapping[int, int]:
        """Return the entries supposed in single splitters."""
        return {}


class SupposePatternForm(SupposeForm):
    """The same with other splitters in a row, in place of all there are."""

    first = _splitter_field("Splitters, the first", AS_IT_IS)
    second = _splitter_field("behind each of its legs", "none")
    third = _splitter_field("and behind each of those", "none")
    field_order = ("optical_class", "instead_of", "first", "second", "third", "attenuator")

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        stages = [given.get(name) for name in ("first", "second", "third")]
        if any(later and not earlier for earlier, later in pairwise(stages)):
            self.add_error("first", "Choose the splitters from the first on, without a gap.")
        return given

    def pattern(self) -> Sequence[int]:
        stages = (self.cleaned_data[name] for name in ("first", "second", "third"))
        return tuple(each for each in stages if each)


class SupposeSplitterForm(SupposeForm):
    """The same below one splitter, which alone is supposed to be another."""

    splitter = _splitter_field("This splitter", AS_IT_IS)
    field_order = ("splitter", "optical_class", "instead_of", "attenuator")

    def __init__(self, data: QueryDict, *, equipment: int) -> None:
        """Bind what was asked of a splitter."""
        super().__init__(data)
        self.equipment = equipment

    def splitters(self) -> Mapping[int, int]:
        entry = self.cleaned_data["splitter"]
        return {self.equipment: entry} if entry else {}
