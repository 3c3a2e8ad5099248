"""The forms of an intake: a sheet as a file or pasted, and what to assume where it is silent."""

import gzip
import io
import zlib
from base64 import b64decode, b64encode
from binascii import Error as NotBase64Error
from typing import Any, BinaryIO, Final, cast

from django import forms

from records import intake
from records.intake import meter_file
from records.web.forms.fields import (
    CountField,
    FigureField,
    WordField,
    pasted_sheet_field,
    sheet_file_field,
)

KEPT_MAX: Final = 2_000_000
"""Characters in which a sheet can wait for its second sending; Django takes 2.5 MB in all."""


class SheetForm(forms.Form):
    """A sheet, as a file or pasted, and why it is taken in.

    A browser does not send a file twice, so the page keeps an uploaded sheet in a hidden field.
    """

    file = sheet_file_field()
    text = pasted_sheet_field()
    reason = forms.CharField(label="Reason", required=False, max_length=300)
    kept = forms.CharField(required=False, widget=forms.HiddenInput)
    kept_name = forms.CharField(required=False, widget=forms.HiddenInput)

    label_suffix = ""
    command = "intake"
    """Takes in what is too large for a page."""

    def load(self, file: BinaryIO) -> intake.Sheet:
        """Read a sheet of this kind from a file. Raises: UnreadableError."""
        return intake.load(file)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if not any(given.get(name) for name in ("file", "text", "kept")):
            self.add_error("file", "Choose a file, or paste the sheet below.")
        return given

    @property
    def sheet_name(self) -> str:
        """Return what the sheet is called, for the change's reason."""
        file = self.cleaned_data.get("file")
        if file is not None:
            return str(file.name)
        return "pasted rows" if self.cleaned_data["text"] else str(self.cleaned_data["kept_name"])

    def sheet(self) -> intake.Sheet:
        """Read the sheet: a new file before pasted rows, these before a file sent earlier.

        Raises: UnreadableError.
        """
        file = self.cleaned_data.get("file")
        if file is not None:
            return self.load(cast("BinaryIO", file))
        text = self.cleaned_data["text"]
        return self.load(
            io.BytesIO(text.encode() if text else _unpacked(self.cleaned_data["kept"]))
        )

    def to_keep(self) -> dict[str, str]:
        """Return the uploaded sheet as the page keeps it, once it was read."""
        file = self.cleaned_data.get("file")
        if file is None:
            return {name: str(self.cleaned_data[name]) for name in ("kept", "kept_name")}
        file.seek(0)
        packed = b64encode(gzip.compress(file.read(intake.MAX_BYTES))).decode()
        if len(packed) > KEPT_MAX:
            raise intake.UnreadableError(
                "This sheet is too large for the page.",
                hint=f"Split it, or take it in with the command manage.py {self.command}.",
            )
        return {"kept": packed, "kept_name": str(file.name)}


class IntakeForm(SheetForm):
    """A sheet of flats, the estate of rows that name none, and each assumption."""

    estate = WordField(
        label="Estate",
        required=False,
        help_text="For rows that name none. Empty where the record has one estate only.",
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        """Ask for each assumption that intake makes."""
        super().__init__(*args, **options)
        for each in intake.assumed():
            self.fields[each.field] = _assumption_field(each)

    def assumption_fields(self) -> list[forms.BoundField]:
        """Return the fields of the assumptions."""
        return [self[each.field] for each in intake.assumed()]

    @property
    def has_changed_assumptions(self) -> bool:
        """Tell whether something else is assumed than usual, or wrongly typed."""
        if not self.is_bound:
            return False
        return any(
            each.name in self.errors or each.name in self.changed_data
            for each in self.assumption_fields()
        )

    def assumptions(self) -> intake.Assumptions:
        """Return what is assumed, as typed."""
        given = {each.field: self.cleaned_data[each.field] for each in intake.assumed()}
        return intake.Assumptions(**given)


class MeterFileForm(SheetForm):
    """A file of readings. Those without a time are of the moment when it was first checked."""

    has_decimal_commas = forms.BooleanField(
        label="This file writes decimals with a comma", required=False
    )
    checked_at = forms.DateTimeField(required=False, widget=forms.HiddenInput)

    command = "readings"

    def load(self, file: BinaryIO) -> intake.Sheet:
        return meter_file.load(file)


def _assumption_field(each: intake.Assumed) -> forms.Field:
    label = each.label.capitalize()
    told: dict[str, Any] = {"initial": each.value, "help_text": f"{_sentence(each.means)}."}
    if each.field.endswith("_nm"):
        return CountField(label=f"{label} (nm)", **told)
    if each.field.endswith("_m"):
        return FigureField("m", label=label, **told)
    return WordField(label=label, required=False, max_length=60, **told)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _unpacked(kept: str) -> bytes:
    """Return the bytes of a kept sheet, never more than a sheet may have."""
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(b64decode(kept, validate=True))) as packed:
            return packed.read(intake.MAX_BYTES + 1)
    except (NotBase64Error, OSError, EOFError, zlib.error, ValueError) as error:
        raise intake.UnreadableError(
            "The sheet did not come through.", hint="Choose the file again."
        ) from error
