"""Forms for the catalogue: add an entry, supersede one, confirm figures, take a word back."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.db.models import Model
from django.http import QueryDict

from records.changes import VERBS, OpenChange
from records.changes.figures import form_of
from records.models import (
    CONFIRMABLE,
    CatalogueEntry,
    ClassDirection,
    Confirmation,
    EntryKind,
    Figure,
    SchemeColour,
)
from records.queries.names import entry_name
from records.queries.standards import figures as figures_of
from records.web.forms.fields import CountField, WordField
from records.web.forms.figures import FiguresField, Row, column_name, new_rows, rows_of
from records.web.forms.verb_form import Thing, VerbForm
from records.web.whole import whole

ROWS_AT_ONCE = 200
UNEVEN = frozenset({EntryKind.TAP, EntryKind.COUPLER})
"""Kinds whose outputs or inputs differ, so that a figure names its branch."""


class _FiguresForm(VerbForm):
    """A form with a table of figures, whose unit and branches follow the kind of entry."""

    def fit(self, kind: str) -> None:
        """Show the columns that this kind of entry has."""
        widget: Any = self.fields["figures"].widget
        widget.unit = "dB/km" if kind == EntryKind.FIBRE else "dB"
        widget.branches = form_of(kind).branches if kind in UNEVEN else ""

    @staticmethod
    def with_rows(query: QueryDict, rows: Iterable[Row]) -> QueryDict:
        """Return what the form starts with, its rows filled in."""
        data = query.copy()
        for number, row in enumerate(rows, start=1):
            for column, value in row.items():
                data.setdefault(column_name("figures", number, column), value)
        return data


class Add(_FiguresForm):
    """A type of a crew's own."""

    verb = "catalogue.add"
    title = "Add to the catalogue"
    button = "Add"
    about = (
        "A type of your own: its loss as least, typical and most over all wavelengths in use, "
        "each figure with its source."
    )
    asks_first = "kind"
    rare = ("note",)

    kind = forms.ChoiceField(label="Kind", choices=EntryKind.choices)
    name = WordField(label="Name", max_length=60)
    inputs = CountField(label="Inputs", initial=1)
    outputs = CountField(label="Outputs", initial=1)
    figures = FiguresField(label="Figures")
    note = WordField(label="Note", required=False, max_length=400)

    def __init__(self, data: QueryDict) -> None:
        """Leave out what every entry of this kind has alike."""
        super().__init__(data)
        kind = self.data.get("kind", "")
        self.fields["kind"].widget = forms.HiddenInput()
        self.fit(kind)
        if kind in EntryKind.values:
            self.title = f"Add to the catalogue: {kind}"
            for name in ("inputs", "outputs"):
                least, most = getattr(form_of(kind), name)
                if least == most:
                    del self.fields[name]

    @classmethod
    def filled(cls, query: QueryDict) -> QueryDict:
        data = cls.with_rows(super().filled(query), new_rows())
        if data.get("kind") == EntryKind.SPLITTER and "outputs" not in query:
            data["outputs"] = ""
        return data

    def after(self, result: Any) -> Thing | None:
        return "entry", result.pk


class Supersede(_FiguresForm):
    """A new version of an entry."""

    verb = "catalogue.supersede"
    title = "A new version"
    button = "Let it take over"
    about = (
        "An entry in use is never edited. Its new version takes over: what uses the old one is "
        "moved and its trees are recomputed, some at a time, as a task that you can watch. Both "
        "versions stay readable."
    )
    rare = ("note",)

    entry = forms.ModelChoiceField(
        CatalogueEntry.objects.all(), label="Entry", widget=forms.HiddenInput
    )
    figures = FiguresField(label="Figures")
    note = WordField(label="Note", required=False, max_length=400)

    def __init__(self, data: QueryDict) -> None:
        """Name the entry in the heading."""
        super().__init__(data)
        found = _entry(self.data)
        if found is not None:
            self.title = f"A new version of {entry_name(found)}"
            self.fit(found.kind)

    @classmethod
    def filled(cls, query: QueryDict) -> QueryDict:
        data, found = super().filled(query), _entry(query)
        return cls.with_rows(data, rows_of(figures_of(found))) if found else data

    def arguments(self) -> dict[str, Any]:
        """Name the entry by its id, as verbs do."""
        return {**super().arguments(), "entry": self.cleaned_data["entry"].pk}

    def after(self, result: Any) -> Thing | None:
        return "take-over", result.pk


def _entry(query: Mapping[str, Any]) -> CatalogueEntry | None:
    pk = whole(query.get("entry", ""))
    return None if pk is None else CatalogueEntry.objects.filter(pk=pk).first()


_ROWS: dict[str, Any] = {
    "figure": Figure.objects.select_related("entry"),
    "class_direction": ClassDirection.objects.select_related("optical_class"),
    "scheme_colour": SchemeColour.objects.select_related("scheme"),
}


class RowsField(forms.Field):
    """The ids of catalogue rows, with commas between."""

    widget = forms.HiddenInput
    default_error_messages = {"required": "Come here from the figure to be confirmed."}

    def to_python(self, value: Any) -> list[int]:
        """Return the ids. Raises: ValidationError."""
        if value in self.empty_values:
            return []
        given = [whole(each.strip()) for each in str(value).split(",")]
        ids = [each for each in given if each is not None]
        if len(ids) != len(given) or len(ids) > ROWS_AT_ONCE:
            raise forms.ValidationError(self.error_messages["required"], code="invalid")
        return ids


class Confirm(VerbForm):
    """Someone's word that rows say what an edition says."""

    verb = "catalogue.confirm"
    title = "Confirm"
    button = "Confirm"
    about = "Say in which edition and table you found it. The figure itself stays as it is."
    rare = ("url", "note")

    noun = forms.ChoiceField(
        label="What", choices=[(each, each) for each in CONFIRMABLE], widget=forms.HiddenInput
    )
    row = RowsField(label="Rows")
    edition = WordField(
        label="Edition",
        max_length=120,
        help_text="Document and date, such as ITU-T G.652 (11/2016).",
    )
    table = WordField(label="Table or clause", max_length=120)
    url = WordField(label="Address", required=False, max_length=300)
    note = WordField(label="Note", required=False, max_length=400)

    def __init__(self, data: QueryDict) -> None:
        """Say in the heading what is to be confirmed."""
        super().__init__(data)
        said = [_said(row) for row in self._rows()]
        if said:
            self.title = f"Confirm {said[0]}" + (f" and {len(said) - 1} more" if said[1:] else "")

    def run(self, change: OpenChange) -> Any:
        """Confirm each row, all in one change."""
        given = self.arguments()
        rows = given.pop("row")
        confirmed = [VERBS[self.verb](change, **given, row=row) for row in rows]
        return confirmed[0]

    def after(self, result: Any) -> Thing | None:
        return _page_of(result)

    def _rows(self) -> list[Model]:
        wanted = [whole(each.strip()) for each in self.data.get("row", "").split(",")]
        known = _ROWS.get(self.data.get("noun", ""))
        if known is None:
            return []
        found = known.in_bulk([each for each in wanted if each is not None][:ROWS_AT_ONCE])
        return list(found.values())


def _said(row: Any) -> str:
    """Return what a row says."""
    if isinstance(row, Figure):
        band = f"{row.wavelength_min_nm} to {row.wavelength_max_nm} nm"
        return f"{entry_name(row.entry)}, {row.bound} {row.value_mdb / 1000:g} dB, {band}"
    return str(row)


def _page_of(confirmation: Confirmation) -> Thing:
    if confirmation.figure is not None:
        return "entry", confirmation.figure.entry_id
    if confirmation.class_direction is not None:
        return "optical-class", confirmation.class_direction.optical_class_id
    if confirmation.scheme_colour is None:
        raise ValueError(f"Confirmation {confirmation.pk} is of nothing.")
    return "colours", confirmation.scheme_colour.scheme_id


class Unconfirm(VerbForm):
    """A mistaken confirmation taken back."""

    verb = "catalogue.unconfirm"
    title = "Take back a confirmation"
    button = "Take back"
    about = "The figure is as unconfirmed as it was before. The history keeps that it was said."
    is_destructive = True

    confirmation = forms.ModelChoiceField(
        Confirmation.objects.select_related("figure", "class_direction", "scheme_colour"),
        label="Confirmation",
        widget=forms.HiddenInput,
    )

    def arguments(self) -> dict[str, Any]:
        """Name the confirmation by its id, as verbs do."""
        return {**super().arguments(), "confirmation": self.cleaned_data["confirmation"].pk}

    def before(self) -> Thing | None:
        return _page_of(self.cleaned_data["confirmation"])
