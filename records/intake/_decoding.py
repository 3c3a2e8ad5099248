"""From bytes to text: which encoding it is, or why it is no text at all."""

import re
from typing import NamedTuple

from records.intake._faults import UnreadableError

_SAVE_AS_CSV = "Save the sheet as CSV (UTF-8) and try again."

_OTHER_FILES = (
    (b"PK\x03\x04", "a workbook or another zipped file"),
    (b"\xd0\xcf\x11\xe0", "a workbook of the old binary kind"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"{\\rtf", "a text document with formatting"),
)

_BYTE_ORDER_MARKS = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)

_CONTROL = re.compile("[\x00-\x08\x0b\x0e-\x1f\x7f]")

MANY = 0.3
FEW = 0.02


class Text(NamedTuple):
    """A decoded text and the encoding it was in."""

    text: str
    encoding: str


def refuse_other_files(head: bytes) -> None:
    """Refuse what its first bytes show to be no text. Raises: UnreadableError."""
    for mark, kind in _OTHER_FILES:
        if head.startswith(mark):
            raise UnreadableError(f"This file is {kind}, not CSV.", hint=_SAVE_AS_CSV)
    if b"\x00" in head and not _encoding_by_mark(head) and not _wide_encoding(head):
        raise UnreadableError("This file is not text.", hint=_SAVE_AS_CSV)


def decoded(data: bytes) -> Text:
    """Return the text of a file.

    UTF-8 and UTF-16 with or without a byte order mark are known; any other text is taken as
    Windows-1252, what Western spreadsheet programs write without one.
    Raises: UnreadableError.
    """
    refuse_other_files(data)
    marked = _encoding_by_mark(data)
    candidates = [marked or _wide_encoding(data) or "utf-8"]
    if candidates == ["utf-8"] and not marked:
        candidates.append("cp1252")
    for encoding in candidates:
        try:
            text = data.decode(encoding).removeprefix("\ufeff")
        except UnicodeDecodeError:
            continue
        _refuse_control_characters(text)
        return Text(text, encoding)
    raise UnreadableError(
        f"This file is not text in {' or '.join(candidates)}.", hint=_SAVE_AS_CSV
    )


def _encoding_by_mark(data: bytes) -> str:
    for mark, encoding in _BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return encoding
    return ""


def _wide_encoding(data: bytes) -> str:
    """Return UTF-16 of the order in which every other byte tends to be zero."""
    sample = data[:4096]
    pairs = max(len(sample) // 2, 1)
    even, odd = sample[0::2].count(0) / pairs, sample[1::2].count(0) / pairs
    if odd > MANY and even < FEW:
        return "utf-16-le"
    if even > MANY and odd < FEW:
        return "utf-16-be"
    return ""


def _refuse_control_characters(text: str) -> None:
    found = _CONTROL.search(text)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        raise UnreadableError(
            f"Line {line} has a control character ({ord(found[0]):#04x}), so this is not a sheet "
            "of text.",
            hint=_SAVE_AS_CSV,
        )
