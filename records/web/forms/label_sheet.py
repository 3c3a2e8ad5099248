"""The form of a label sheet: the stock, where to begin on it, how the printer errs."""

from typing import Any, Final

from django import forms

from labels.seeds import sheets
from labels.stock import Offset, Sheet
from records.web.forms.fields import CountField, FigureField

USUAL_SHEET: Final = "A4-5x13"
"""Fits a port label: a code that phones read and two lines. Source: labels.md section 3."""


def _sheet_choices() -> list[tuple[str, str]]:
    return [(each.id, _described(each)) for each in sheets().values()]


def _described(sheet: Sheet) -> str:
    size = f"{sheet.label_width_mm:g} \N{MULTIPLICATION SIGN} {sheet.label_height_mm:g} mm"
    words = f"{sheet.page}, {sheet.columns} by {sheet.rows}, {size}"
    return f"{words} ({sheet.note})" if sheet.note else words


class SheetForm(forms.Form):
    """How to print, apart from what."""

    sheet = forms.ChoiceField(label="Sheet", choices=_sheet_choices, initial=USUAL_SHEET)
    start = CountField(
        label="Begin at label",
        initial=1,
        help_text="Counted row by row, so that a half-used sheet serves again.",
    )
    right_mm = FigureField(
        "mm",
        label="Move all to the right by",
        can_be_negative=True,
        required=False,
        initial=0,
        help_text="Print the test page, hold it against the labels, measure. To the left: -1.",
    )
    down_mm = FigureField(
        "mm", label="Move all down by", can_be_negative=True, required=False, initial=0
    )
    has_owner = forms.BooleanField(
        label="Name of the box on port labels", required=False, initial=True
    )
    has_outlines = forms.BooleanField(label="Outlines, for a test on plain paper", required=False)

    label_suffix = ""

    def chosen_sheet(self) -> Sheet:
        """Return the sheet."""
        return sheets()[self.cleaned_data["sheet"]]

    def offset(self) -> Offset:
        """Return how far all is moved. Raises: StockError."""
        return Offset(self.cleaned_data["right_mm"] or 0, self.cleaned_data["down_mm"] or 0)

    def kept(self) -> dict[str, Any]:
        """Return what a person wants to find again at the next sheet."""
        return {name: self.cleaned_data[name] for name in ("sheet", "right_mm", "down_mm")}
