"""Fields in the trade's shape: a thing to look up, a figure with its unit, a catalogue's row.

They check form only: that a length is a number, never that it is a possible length.
"""

import re
from collections.abc import Callable, Iterable
from math import isfinite
from typing import Any

from django import forms

from records.models import CatalogueEntry, ColourScheme, OpticalClass, Polish
from records.queries.words import natural
from records.web.whole import whole

MINUSES = str.maketrans({"\N{MINUS SIGN}": "-", "\N{EN DASH}": "-", "\N{NO-BREAK SPACE}": " "})
FIGURE = re.compile(r"[-+]?(\d+([.,]\d*)?|[.,]\d+)", re.ASCII)
"""A number as people type it; Python's own reading takes nan, inf and 1_000 besides."""
COULD_BE_THOUSANDS = re.compile(r"-?[1-9]\d{0,2},\d{3}")

Choices = list[tuple[str, str]]


class ThingField(forms.Field):
    """A thing of the record, chosen from what a search finds. Its value is the thing's id."""

    widget = forms.HiddenInput

    def __init__(self, source: str, **options: Any) -> None:
        """Name the kind of thing, as options.py knows it."""
        super().__init__(**options)
        self.source = source
        self.error_messages["required"] = "Look it up and choose one of those found."

    def to_python(self, value: Any) -> int | None:
        if value in self.empty_values:
            return None
        thing_id = whole(str(value))
        if thing_id is None:
            raise forms.ValidationError(
                f"'{value}' is not a {self.source} known here. Look it up and choose one.",
                code="invalid",
            )
        return thing_id


class FigureField(forms.Field):
    """A number with a unit, typed with a decimal comma or point, with or without the unit."""

    def __init__(
        self, unit: str, *, label: str, can_be_negative: bool = False, **options: Any
    ) -> None:
        """Name the unit that stands in the label."""
        super().__init__(label=f"{label} ({unit})", **options)
        self.unit = unit
        # The decimal keypad of some phones has no minus.
        keypad = "text" if can_be_negative else "decimal"
        self.widget.attrs.update(inputmode=keypad, autocomplete="off", size=10)

    def to_python(self, value: Any) -> float | None:
        if value in self.empty_values:
            return None
        typed = str(value).translate(MINUSES).strip()
        bare = typed.removesuffix(self.unit).replace(" ", "")
        if COULD_BE_THOUSANDS.fullmatch(bare):
            whole, part = bare.replace(",", ""), bare.replace(",", ".")
            raise forms.ValidationError(
                f"'{typed}' could be {whole} or {float(part):g}. Type it without the comma, or "
                "with one figure less behind it.",
                code="invalid",
            )
        if not FIGURE.fullmatch(bare):
            raise forms.ValidationError(
                f"'{typed}' is not a number. Type figures such as 1.5 or 1,5.", code="invalid"
            )
        figure = float(bare.replace(",", "."))
        if not isfinite(figure):
            raise forms.ValidationError(
                "That number is larger than can be reckoned with. Type a smaller one.",
                code="invalid",
            )
        return figure


class CountField(forms.IntegerField):
    """A whole number without a unit."""

    def __init__(self, **options: Any) -> None:
        """Take the figures keypad of a phone."""
        options.setdefault("widget", forms.TextInput(attrs={"inputmode": "numeric", "size": 6}))
        super().__init__(**options)

    def to_python(self, value: Any) -> int | None:
        try:
            return super().to_python(value)
        except forms.ValidationError:
            raise forms.ValidationError(
                f"'{value}' is not a whole number.", code="invalid"
            ) from None


class WordField(forms.CharField):
    """A name or code: no corrections by the phone's keyboard."""

    def __init__(self, **options: Any) -> None:
        """Switch off what phones do to words they don't know."""
        super().__init__(**options)
        self.widget.attrs.update(autocomplete="off", autocapitalize="off", spellcheck="false")


class RowField(forms.TypedChoiceField):
    """A row of a short table, such as a type of the catalogue, chosen from a list."""

    def __init__(self, rows: Callable[[], Choices], *, empty: str, **options: Any) -> None:
        """Take what lists the rows, and the words for choosing none."""

        def choices() -> Choices:
            return [("", empty), *rows()]

        super().__init__(choices=choices, coerce=int, empty_value=None, **options)


def entry_field(kinds: Iterable[str], *, empty: str, **options: Any) -> RowField:
    """Return a field for a catalogue entry of these kinds."""
    wanted = list(kinds)

    def rows() -> Choices:
        found = CatalogueEntry.objects.filter(kind__in=wanted).order_by("kind", "name", "version")
        newest = {(entry.kind, entry.name): entry for entry in found}
        ordered = sorted(newest.values(), key=lambda entry: natural(entry.name))
        return [(str(entry.pk), entry.name) for entry in ordered]

    return RowField(rows, empty=empty, **options)


def class_field(*, empty: str, **options: Any) -> RowField:
    """Return a field for a technology and optical class."""

    def rows() -> Choices:
        found = OpticalClass.objects.order_by("pk")
        return [(str(each.pk), str(each)) for each in found]

    return RowField(rows, empty=empty, **options)


def scheme_field(**options: Any) -> RowField:
    """Return a field for the colour code of a cable."""

    def rows() -> Choices:
        return [(str(each.pk), each.name) for each in ColourScheme.objects.order_by("name")]

    return RowField(rows, empty="not recorded", **options)


BARE = "bare"


class PolishField(forms.TypedChoiceField):
    """What an end has: a connector with its polish, or none."""

    def __init__(self, *, usual: str = "", **options: Any) -> None:
        """Offer first to leave it to the verb, in these words, where there are any."""
        listed = [("", usual)] if usual else []
        listed += [(polish, f"{polish} connector") for polish in reversed(Polish.values)]
        listed.append((BARE, "bare end"))
        super().__init__(
            choices=listed,
            coerce=lambda value: "" if value == BARE else value,
            empty_value=None,
            required=not usual,
            **options,
        )


def sheet_file_field() -> forms.FileField:
    """Return the field of a spreadsheet's file; it stands beside the one for pasting."""
    return forms.FileField(
        label="File (CSV)",
        required=False,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,text/csv,text/plain"}),
    )


def pasted_sheet_field() -> forms.CharField:
    """Return the field into which a spreadsheet is pasted instead."""
    return forms.CharField(
        label="Or paste it here",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "autocapitalize": "off"}),
        help_text="Straight from a spreadsheet program, with the row of column names.",
    )
