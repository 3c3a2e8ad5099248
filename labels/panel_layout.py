"""Labels that stick flat: a QR beside or above its text, or one text in the middle."""

from collections.abc import Iterator
from typing import Final

from labels.design import Label, LabelSettings
from labels.drawing import Box, Drawing, QrMark, inside, stack
from labels.label_lines import set_lines
from labels.qr import ModuleTooSmallError, Size, choose, encode, smallest
from labels.stock import Face
from labels.text_fit import TextTooLongError

# A QR takes at most this part of the longer side, so that the text beside it stays legible.
_BESIDE_SHARE: Final = 0.5
_ABOVE_SHARE: Final = 0.62
_GAP_MM: Final = 0.4


def panel(label: Label, face: Face, settings: LabelSettings) -> Drawing:
    """Lay out a QR with its text, or the text alone with the reason.

    The QR gives way to the text, down to the smallest module; after that the text is refused.
    """
    if not label.kind.has_qr:
        return text_only(label, face, settings)
    room = inside(face)
    text = settings.link(label.code)
    try:
        sizes = tuple(_sizes(text, room, face.dot_mm, settings.smallest_module_mm))
    except ModuleTooSmallError as error:
        if settings.requires_qr:
            raise
        return text_only(label, face, settings, notes=(f"{error.message} Printed as text.",))
    for size in sizes[:-1]:
        try:
            return _with_qr(label, face, settings, size)
        except TextTooLongError:
            continue
    return _with_qr(label, face, settings, sizes[-1])


def room_for_qr(face: Face) -> float:
    """Return the side of the largest square that a label has for a QR."""
    room = inside(face)
    return min(room.width_mm, room.height_mm)


def text_only(
    label: Label,
    face: Face,
    settings: LabelSettings,
    *,
    is_centred: bool = False,
    notes: tuple[str, ...] = (),
) -> Drawing:
    """Lay out the text of a label over all its room."""
    room = inside(face)
    rows = set_lines(label, settings, room)
    texts = tuple(stack(rows, room, is_centred=is_centred))
    return Drawing(face.width_mm, face.height_mm, texts, notes=notes)


def _sizes(text: str, room: Box, dot_mm: float, smallest_mm: float) -> Iterator[Size]:
    """Yield QR sizes from the one that looks best to the smallest.

    Raises: ModuleTooSmallError where not even the largest QR the room has would do.
    """
    longer_mm, shorter_mm = max(room.width_mm, room.height_mm), min(room.width_mm, room.height_mm)
    share = _BESIDE_SHARE if room.is_wide else _ABOVE_SHARE
    largest = choose(text, shorter_mm, dot_mm, smallest_mm)
    for room_mm in (min(shorter_mm, longer_mm * share), shorter_mm * 0.75):
        try:
            yield choose(text, room_mm, dot_mm, smallest_mm)
        except ModuleTooSmallError:
            continue
    least = smallest(text, dot_mm, smallest_mm)
    yield least if least.side_mm <= largest.side_mm else largest


def _with_qr(label: Label, face: Face, settings: LabelSettings, size: Size) -> Drawing:
    room = inside(face)
    square, rest = room.square_and_rest(size.side_mm, _GAP_MM)
    rows = set_lines(label, settings, rest)
    symbol = encode(settings.link(label.code), size.version, size.level)
    return Drawing(
        face.width_mm,
        face.height_mm,
        tuple(stack(rows, rest, is_centred=not room.is_wide)),
        QrMark(square.x_mm, square.y_mm, size, symbol),
    )
