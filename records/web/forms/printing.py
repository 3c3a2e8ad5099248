"""Forms of printing: how a run is printed, blank tags, printers' offsets, the owner's stock."""

from typing import Any, Final

from django import forms

from labels.item import OPTIONAL, USUAL_FIELDS
from labels.items import CABLE_LABELS
from labels.orders import Order, ordered
from labels.shelf import USUAL_SHEET, Stock, stocks
from labels.stock import Offset, Sheet
from records.models import PrinterOffset, PrintFile, StockShape
from records.web.forms.fields import CountField, FigureField, WordField

REMEMBERED: Final = ("stock", "file", "printer", "shown", "cable_label")
"""What a person wants to find again at the next run."""


def described(of: Stock) -> str:
    """Return stock in words: what it is, how many labels, how large."""
    size = f"{of.label_width_mm:g} \N{MULTIPLICATION SIGN} {of.label_height_mm:g} mm"
    if isinstance(of, Sheet):
        words = f"{of.id}: {of.columns} by {of.rows}, {size}"
    else:
        words = f"{of.id}: {size}, {of.dpi} dpi"
    return f"{words} ({of.note})" if of.note else words


def _stock_choices() -> list[Any]:
    listed = stocks().values()
    return [
        ("Sheets", [(each.id, described(each)) for each in listed if isinstance(each, Sheet)]),
        (
            "Rolls and tapes",
            [(each.id, described(each)) for each in listed if not isinstance(each, Sheet)],
        ),
    ]


def _printer_choices() -> list[tuple[str, str]]:
    names = PrinterOffset.objects.order_by("printer").values_list("printer", flat=True).distinct()
    return [("", "one without a stored offset"), *((name, name) for name in names)]


class OrderForm(forms.Form):
    """What a run is printed on, and how."""

    label_suffix = ""

    stock = forms.ChoiceField(label="Stock", choices=_stock_choices, initial=USUAL_SHEET)
    start = CountField(
        label="Begin at label",
        initial=1,
        help_text="Counted row by row, so that a part-used sheet serves again.",
    )
    printer = forms.ChoiceField(label="Printer", choices=_printer_choices, required=False)
    right_mm = FigureField(
        "mm",
        label="Move all to the right by",
        can_be_negative=True,
        required=False,
        initial=0,
        help_text="Besides what is stored for the printer. To the left: -1.",
    )
    down_mm = FigureField(
        "mm", label="Move all down by", can_be_negative=True, required=False, initial=0
    )
    file = forms.ChoiceField(label="File", choices=PrintFile.choices, initial=PrintFile.PDF)
    has_outlines = forms.BooleanField(label="Outlines, for a test on plain paper", required=False)

    rare: tuple[str, ...] = ("printer", "right_mm", "down_mm", "file", "has_outlines")

    def order(self) -> Order:
        """Return the order. Raises: StockError, LabelError."""
        data = self.cleaned_data
        return ordered(
            data["stock"],
            printer=data["printer"],
            right_mm=data["right_mm"] or 0,
            down_mm=data["down_mm"] or 0,
            file=data["file"],
            start=data["start"],
            has_outlines=data["has_outlines"],
        )

    def kept(self) -> dict[str, Any]:
        """Return what a person wants to find again at the next run."""
        return {name: self.cleaned_data[name] for name in REMEMBERED if name in self.fields}


class PrintForm(OrderForm):
    """What a run shows, and on what it is printed."""

    shown = forms.MultipleChoiceField(
        label="Besides code and number show",
        choices=list(OPTIONAL.items()),
        initial=sorted(USUAL_FIELDS),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    cable_label = forms.ChoiceField(
        label="Cables get", choices=list(CABLE_LABELS.items()), required=False
    )

    rare = (*OrderForm.rare, "shown", "cable_label")

    def shown_fields(self) -> frozenset[str]:
        """Return the fields that may be left out and are not."""
        return frozenset(self.cleaned_data["shown"])


class BlankForm(OrderForm):
    """How many blank tags, and on what."""

    count = CountField(label="How many", initial=40, min_value=1)
    field_order = ("count",)


class OffsetForm(forms.Form):
    """How far one printer is moved on one kind of sheet."""

    label_suffix = ""

    printer = WordField(
        label="Printer", max_length=60, help_text="A name that the crew knows it by."
    )
    stock = forms.ChoiceField(label="Sheet", choices=lambda: _stock_choices()[:1])
    right_mm = FigureField(
        "mm",
        label="Move all to the right by",
        can_be_negative=True,
        help_text="Print the ruled page, hold it against the labels, measure. To the left: -1.",
    )
    down_mm = FigureField("mm", label="Move all down by", can_be_negative=True)

    def arguments(self) -> dict[str, Any]:
        """Return the verb's arguments. Raises: StockError for what no sheet could bear."""
        offset = Offset(self.cleaned_data["right_mm"], self.cleaned_data["down_mm"])
        return {
            "printer": self.cleaned_data["printer"],
            "stock": self.cleaned_data["stock"],
            "right_mm": offset.x_mm,
            "down_mm": offset.y_mm,
        }


_MEASURES: Final = {
    "page_width_mm": "Width of the page",
    "page_height_mm": "Height of the page",
    "margin_left_mm": "Left margin",
    "margin_top_mm": "Top margin",
    "pitch_x_mm": "Step from label to label across",
    "pitch_y_mm": "Step from label to label down",
    "corner_mm": "Radius of the corners",
    "media_mm": "Width of the tape or roll",
    "label_width_mm": "Width of a label, along its text",
    "label_height_mm": "Height of a label",
}
_OF_SHEET: Final = (
    "page_width_mm",
    "page_height_mm",
    "columns",
    "rows",
    "label_width_mm",
    "label_height_mm",
    "margin_left_mm",
    "margin_top_mm",
    "pitch_x_mm",
    "pitch_y_mm",
    "corner_mm",
)
_OF_ROLL: Final = ("media_mm", "label_width_mm", "label_height_mm", "dpi")


class StockForm(forms.Form):
    """Stock of the owner's, in millimetres."""

    label_suffix = ""

    name = WordField(label="Name", max_length=40, help_text="As written on the packet.")
    shape = forms.ChoiceField(choices=StockShape.choices, widget=forms.HiddenInput)

    def __init__(self, data: Any) -> None:
        """Ask for the measures of its shape."""
        super().__init__(data)
        is_sheet = data.get("shape") == StockShape.SHEET
        for name in _OF_SHEET if is_sheet else _OF_ROLL:
            self.fields[name] = _measure_field(name)

    def measures(self) -> dict[str, float]:
        """Return the measures."""
        return {
            name: value
            for name, value in self.cleaned_data.items()
            if name not in {"name", "shape"} and value is not None
        }


def _measure_field(name: str) -> forms.Field:
    if name == "dpi":
        dpi = [(203, "203 dpi"), (300, "300 dpi"), (600, "600 dpi")]
        return forms.TypedChoiceField(label="Dots of the printer", choices=dpi, coerce=int)
    if name in {"columns", "rows"}:
        return CountField(label=f"{name.capitalize()} of labels")
    return FigureField("mm", label=_MEASURES[name], required=name != "corner_mm")
