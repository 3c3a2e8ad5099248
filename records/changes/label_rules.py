"""Verbs for what the owner settles for labels: the rules, own stock, printers' offsets.

Whether a link fits a QR and a sheet its page is known one floor up (labels/owner.py), where
these are called.
"""

from decimal import Decimal

from records.changes._checks import choice, existing, text
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, NameTaken
from records.models import (
    CautionSign,
    LabelRules,
    OwnStock,
    Pictogram,
    PrinterOffset,
    StockShape,
)

ONLY = 1
"""The id of the one row of rules."""

_CENTI, _MILLI = Decimal("0.01"), Decimal("0.001")

MODULE_MAX_MM = 0.99
"""Larger modules only waste label. Source: GS1 General Specifications 5.12.3.1, by GS1 UK."""

PICTURE_MAX = 100_000
"""Characters of a sign's picture. The largest that labels take in has fewer (own_sign.py)."""

OFFSET_MAX_MM = 10
"""No printer is further off and still usable (common practice)."""


@verb
def settle(
    change: OpenChange,
    *,
    host: str,
    smallest_module_mm: float,
    language: str,
    has_upper_case_link: bool = True,
    has_upper_case_text: bool = True,
    requires_qr: bool = False,
    signal: str = "",
    words: str = "",
    pictogram: str = "",
    picture: str = "",
) -> LabelRules:
    """Settle the rules for all labels; an empty `pictogram` leaves the country's.

    Raises: Malformed.
    """
    _refuse_no_sign(pictogram, picture)
    signal, words = text(signal, 40, field="signal"), text(words, 300, field="words")
    if bool(signal) != bool(words):
        raise Malformed(
            "A caution has a signal word and words, or the usual ones for its language.",
            hint="Give both or neither.",
            field="signal" if words else "words",
        )
    if not 0 < smallest_module_mm <= MODULE_MAX_MM:
        raise Malformed(
            f"A module of {smallest_module_mm:g} mm is no label's.",
            hint=f"Give more than 0 and at most {MODULE_MAX_MM} mm.",
            field="smallest_module_mm",
        )
    host = text(host, 120, field="host", needed=True)
    rules, _ = LabelRules.objects.update_or_create(
        pk=ONLY,
        defaults={
            "host": host,
            "smallest_module_mm": Decimal(str(smallest_module_mm)).quantize(_MILLI),
            "language": text(language, 8, field="language", needed=True),
            "has_upper_case_link": has_upper_case_link,
            "has_upper_case_text": has_upper_case_text,
            "requires_qr": requires_qr,
            "signal": signal,
            "words": words,
        },
    )
    _settle_sign(pictogram, picture)
    shown = f" with {Pictogram(pictogram).label}" if pictogram else ""
    change.say(f"settled that labels lead to {host}, caution in {rules.language}{shown}")
    return rules


def _refuse_no_sign(pictogram: str, picture: str) -> None:
    if pictogram:
        choice(pictogram, Pictogram.values, field="pictogram")
    if (pictogram == Pictogram.OWN) != bool(picture):
        raise Malformed(
            "A pictogram of your own needs its picture, and no other takes one.",
            hint="Give both or neither.",
            field="pictogram" if picture else "picture",
        )
    if len(picture) > PICTURE_MAX:
        raise Malformed(
            "The picture is larger than a sign needs.", hint="Give a smaller one.", field="picture"
        )


def _settle_sign(pictogram: str, picture: str) -> None:
    if not pictogram:
        CautionSign.objects.all().delete()
        return
    sign = {"pictogram": pictogram, "picture": picture}
    CautionSign.objects.update_or_create(pk=ONLY, defaults=sign)


@verb
def describe_stock(change: OpenChange, *, name: str, shape: str, geometry: str) -> OwnStock:
    """Describe stock of one's own. Raises: Malformed, NameTaken."""
    name = text(name, 40, field="name", needed=True)
    choice(shape, StockShape.values, field="shape")
    if OwnStock.objects.filter(name=name).exists():
        raise NameTaken(
            f"There is stock {name} already.", hint="Give this one another name.", field="name"
        )

    stock = OwnStock.objects.create(name=name, shape=shape, geometry=geometry)
    change.say(f"described stock {name}")
    return stock


@verb
def forget_stock(change: OpenChange, stock: int) -> None:
    """Forget stock of one's own; runs printed on it keep its geometry. Raises: Missing."""
    found = existing(OwnStock.objects, stock, field="stock")
    OwnStock.objects.filter(pk=stock).delete()
    change.say(f"forgot stock {found.name}")


@verb
def nudge(
    change: OpenChange, *, printer: str, stock: str, right_mm: float, down_mm: float
) -> PrinterOffset:
    """Store how far a printer must be moved on a kind of sheet. Raises: Malformed."""
    printer = text(printer, 60, field="printer", needed=True)
    stock = text(stock, 40, field="stock", needed=True)
    moved_mm = {"right_mm": right_mm, "down_mm": down_mm}
    for name, value in moved_mm.items():
        if not -OFFSET_MAX_MM <= value <= OFFSET_MAX_MM:
            raise Malformed(
                f"An offset of {value} mm is no printer's offset.",
                hint=f"Give -{OFFSET_MAX_MM} to {OFFSET_MAX_MM} mm.",
                field=name,
            )

    offset, _ = PrinterOffset.objects.update_or_create(
        printer=printer,
        stock=stock,
        defaults={name: Decimal(str(value)).quantize(_CENTI) for name, value in moved_mm.items()},
    )
    change.say(f"moved {printer} on {stock} by {right_mm:g} mm right, {down_mm:g} mm down")
    return offset
