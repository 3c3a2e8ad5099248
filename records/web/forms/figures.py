"""The field for the figures of a catalogue entry: a row each, numbered as refusals number them."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from records.changes.figures import GivenFigure
from records.models import Bound, Confidence, Figure
from records.web.forms.fields import CountField, FigureField

Row = dict[str, str]

COLUMNS = (
    "bound",
    "branch",
    "wavelength_min_nm",
    "wavelength_max_nm",
    "value_db",
    "source",
    "confidence",
    "url",
    "note",
)
AS_ABOVE = ("source", "confidence", "url")
"""Columns that a row takes over from the row above where it leaves the source open."""

BAND_NM = (1260, 1650)
"""What a new row starts from: all bands that the classes of the catalogue use."""

MORE = 3
ROWS_MAX = 200


def column_name(name: str, number: int, column: str) -> str:
    """Return the name of one cell, as refusals name it: `figures.3.value_db`."""
    return f"{name}.{number}.{column}"


def new_rows() -> list[Row]:
    """Return the rows of an entry that has none yet."""
    first, last = map(str, BAND_NM)
    band = {"wavelength_min_nm": first, "wavelength_max_nm": last}
    return [{"bound": bound, **band} for bound in Bound.values]


def rows_of(figures: Sequence[Figure]) -> list[Row]:
    """Return the rows of figures that are there."""
    return [
        {
            "bound": each.bound,
            "branch": "" if each.branch is None else str(each.branch),
            "wavelength_min_nm": str(each.wavelength_min_nm),
            "wavelength_max_nm": str(each.wavelength_max_nm),
            "value_db": f"{each.value_mdb / 1000:g}",
            "source": each.source,
            "confidence": each.confidence,
            "url": each.url,
            "note": each.note,
        }
        for each in figures
    ]


class FiguresWidget(forms.Widget):
    """Rows of figures, with a button for more rows."""

    template_name = "records/light/figures_widget.html"
    use_fieldset = True
    unit = "dB"
    branches = ""

    def value_from_datadict(self, data: Mapping[str, Any], files: Any, name: str) -> list[Row]:
        """Return the rows that were sent, with more if they were asked for."""
        rows: list[Row] = []
        while len(rows) < ROWS_MAX and column_name(name, len(rows) + 1, "bound") in data:
            number = len(rows) + 1
            rows.append(
                {key: data.get(column_name(name, number, key), "").strip() for key in COLUMNS}
            )
        if data.get("check") == "more":
            rows += new_rows()[:MORE]
        return rows

    def get_context(self, name: str, value: Any, attrs: Any) -> dict[str, Any]:
        """Return what the template draws."""
        context = super().get_context(name, value, attrs)
        context["widget"] |= {
            "rows": [
                {"number": number, "at": column_name(name, number, ""), **row}
                for number, row in enumerate(value or (), start=1)
            ],
            "unit": self.unit,
            "branches": self.branches or any(row.get("branch") for row in value or ()),
            "bounds": Bound.choices,
            "confidences": Confidence.choices,
        }
        return context


class FiguresField(forms.Field):
    """Figures with their sources; a row without a source takes that of the row above."""

    widget = FiguresWidget

    def clean(self, value: Any) -> list[GivenFigure]:
        """Return the figures in their order. Raises: ValidationError, naming figure and cell."""
        rows: list[Row] = value or []
        while rows and not rows[-1].get("value_db"):
            rows = rows[:-1]
        found: list[GivenFigure] = []
        faults: list[forms.ValidationError] = []
        above: Row = {}
        for number, row in enumerate(rows, start=1):
            if not row.get("source"):
                row = {**row, **{key: above.get(key, "") for key in AS_ABOVE}}  # noqa: PLW2901
            above = row
            try:
                found.append(_figure(row))
            except forms.ValidationError as error:
                faults += [
                    forms.ValidationError(f"Figure {number}: {words}", code="invalid")
                    for words in error.messages
                ]
        if faults:
            raise forms.ValidationError(faults)
        if not found:
            raise forms.ValidationError("Give least, typical and most.", code="required")
        return found


_NM = CountField(error_messages={"required": "give both wavelengths."})
_VALUE = FigureField("dB", label="Value", error_messages={"required": "give a value."})
_BRANCH = CountField(required=False)


def _figure(row: Row) -> GivenFigure:
    return GivenFigure(
        bound=row.get("bound", ""),
        wavelength_min_nm=_NM.clean(row.get("wavelength_min_nm")),
        wavelength_max_nm=_NM.clean(row.get("wavelength_max_nm")),
        value_db=_VALUE.clean(row.get("value_db", "").removesuffix("/km")),
        source=row.get("source", ""),
        url=row.get("url", ""),
        confidence=row.get("confidence") or Confidence.SECONDARY,
        note=row.get("note", ""),
        branch=_BRANCH.clean(row.get("branch")),
    )
