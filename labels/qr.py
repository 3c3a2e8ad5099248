"""QR symbols: the link, the smallest symbol that holds it, and its modules on whole dots.

A symbol of version v has 17 + 4 v modules a side and a quiet zone of 4 on every side; the printed
module is a whole number of printer dots, and never scaled to fit.
Source: ISO/IEC 18004, by the capacity table in fixtures/labels/qr_capacity.csv.
"""

import csv
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from qrcode import constants, util
from qrcode.main import QRCode

from labels.refusals import LabelRefusal

CAPACITY: Final = (
    Path(__file__).resolve().parent.parent / "fixtures" / "labels" / "qr_capacity.csv"
)

QUIET_MODULES: Final = 4
LEVELS: Final = ("Q", "M")
"""Error correction in the order of preference.

Source: DIN SPEC 91406 / IEC 61406-1, Q preferred, at least M (from a trade page).
"""

SMALLEST_MODULE_MM: Final = 0.35
"""Source: DIN SPEC 91406 / IEC 61406-1, marks on equipment (from a trade page)."""

LARGEST_MODULE_MM: Final = 0.990
"""Source: GS1 General Specifications 5.12.3.1, by GS1 UK; larger only wastes label."""

ALPHANUMERIC: Final = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")

# The standard lets a writer choose one of eight masks and asks for the one with the lowest
# penalty; a reader takes any of them, since the symbol says which it has. Trying all eight costs
# eight times as much. Mask 0 has the lowest mean penalty over links of this form, and the tests
# read every symbol with an independent decoder.
_MASK: Final = 0

_LEVEL_CODES: Final = {
    "L": constants.ERROR_CORRECT_L,
    "M": constants.ERROR_CORRECT_M,
    "Q": constants.ERROR_CORRECT_Q,
    "H": constants.ERROR_CORRECT_H,
}
_HOST: Final = re.compile(
    r"(?=.{1,253}(?::|$))[A-Z0-9](?:[A-Z0-9-]{0,61}[A-Z0-9])?"
    r"(?:\.[A-Z0-9](?:[A-Z0-9-]{0,61}[A-Z0-9])?)*(?::[0-9]{1,5})?",
    re.IGNORECASE,
)
_DARK: Final = re.compile(rb"\x01+")
_ROUNDING: Final = 1e-9


class LinkError(LabelRefusal):
    """A host that isn't one, or a link too long for the symbols that labels use."""

    code = "label_link"


class ModuleTooSmallError(LabelRefusal):
    """A QR whose modules would be under the smallest that phones read."""

    code = "qr_module_too_small"


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol. `runs` are its dark modules from the top left: x, y, count to the right."""

    text: str
    version: int
    level: str
    runs: tuple[tuple[int, int, int], ...]

    @property
    def side_modules(self) -> int:
        """Modules a side without the quiet zone."""
        return side_of(self.version)


@dataclass(frozen=True, slots=True)
class Size:
    """The version and level chosen for a text, and how large it prints."""

    version: int
    level: str
    module_dots: int
    dot_mm: float

    @property
    def module_mm(self) -> float:
        """Printed width of one module."""
        return self.module_dots * self.dot_mm

    @property
    def side_mm(self) -> float:
        """Printed width of the symbol with its quiet zone."""
        return (side_of(self.version) + 2 * QUIET_MODULES) * self.module_mm

    @property
    def quiet_mm(self) -> float:
        """Printed width of the quiet zone."""
        return QUIET_MODULES * self.module_mm


def side_of(version: int) -> int:
    """Return the modules a side of a version, without the quiet zone."""
    return 17 + 4 * version


def link(code: str, host: str, *, upper_case: bool = True, has_https: bool = True) -> str:
    """Return the link that the QR of a tag holds.

    Upper case stays in QR's alphanumeric set, which needs 5.5 bits a character where bytes need
    8: with a host of up to 10 characters the link has at most 29 and fits version 2 at level Q.
    Scheme and host are read without case, the path isn't: the server answers /T/ and /t/ alike.

    Raises: LinkError for a host that isn't one.
    """
    if not _HOST.fullmatch(host):
        raise LinkError(
            f"{host!r} is not a host name.",
            "Give it as in LABELS.EXAMPLE.ORG, with a port after a colon if need be; no path.",
        )
    address = f"{'https' if has_https else 'http'}://{host}/t/{code}"
    return address.upper() if upper_case else address.lower()


def choose(text: str, room_mm: float, dot_mm: float, smallest_mm: float) -> Size:
    """Choose version, level and module so that a text fits a square of `room_mm`.

    Level Q in its smallest version comes first, with the largest whole-dot module that fits; where
    that module is under the smallest, level M.

    Raises: ModuleTooSmallError with both figures; LinkError for a text over every capacity.
    """
    return _choose(
        len(text.encode()), mode_of(text), room_mm=room_mm, dot_mm=dot_mm, smallest_mm=smallest_mm
    )


def smallest(text: str, dot_mm: float, smallest_mm: float) -> Size:
    """Return the size with the smallest side that may be printed."""
    version = _version(len(text.encode()), mode_of(text), LEVELS[0])
    return Size(version, LEVELS[0], _least_dots(smallest_mm, dot_mm), dot_mm)


def encode(text: str, version: int, level: str) -> Symbol:
    """Encode a text, alphanumeric where its characters allow, else as bytes.

    Raises: LinkError where the text is over the capacity of that version and level.
    """
    mode = mode_of(text)
    capacity = capacities()[version, level][mode]
    if len(text.encode()) > capacity:
        raise LinkError(
            f"{len(text.encode())} characters are over the {capacity} that a QR of version "
            f"{version} at level {level} holds ({mode}).",
            "Take a larger version or a shorter host.",
        )
    codes = {"alphanumeric": util.MODE_ALPHA_NUM, "byte": util.MODE_8BIT_BYTE}
    symbol = QRCode(
        version=version, error_correction=_LEVEL_CODES[level], border=0, mask_pattern=_MASK
    )
    symbol.add_data(util.QRData(text.encode(), mode=codes[mode], check_data=False), optimize=0)
    symbol.make(fit=False)
    return Symbol(text, version, level, tuple(_runs(symbol.modules)))


def mode_of(text: str) -> str:
    """Return the QR mode a text needs: `alphanumeric` or `byte`."""
    return "alphanumeric" if ALPHANUMERIC.issuperset(text) else "byte"


@lru_cache
def capacities() -> dict[tuple[int, str], dict[str, int]]:
    """Return characters by mode for each version and level of the published table."""
    with CAPACITY.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    return {
        (int(row["version"]), row["level"]): {
            mode: int(row[mode]) for mode in ("numeric", "alphanumeric", "byte")
        }
        for row in rows
    }


# Labels of one run differ in their code only, so the choice is made once for all of them.
@lru_cache(maxsize=1024)
def _choose(count: int, mode: str, *, room_mm: float, dot_mm: float, smallest_mm: float) -> Size:
    least_dots = _least_dots(smallest_mm, dot_mm)
    for level in LEVELS:
        version = _version(count, mode, level)
        side = side_of(version) + 2 * QUIET_MODULES
        dots = math.floor(room_mm / side / dot_mm + _ROUNDING)
        if dots >= least_dots:
            most_dots = math.floor(LARGEST_MODULE_MM / dot_mm + _ROUNDING)
            return Size(version, level, min(dots, most_dots), dot_mm)
    raise ModuleTooSmallError(
        f"A QR of {count} characters in {room_mm:.1f} mm would have modules of "
        f"{room_mm / side:.2f} mm; the smallest that this printer may print is "
        f"{least_dots * dot_mm:.3f} mm ({least_dots} dots of {dot_mm:.4f} mm).",
        f"Take stock with {side * least_dots * dot_mm:.1f} mm of room for it, or a shorter host.",
    )


def _version(count: int, mode: str, level: str) -> int:
    for (version, of_level), capacity in capacities().items():
        if of_level == level and capacity[mode] >= count:
            return version
    raise LinkError(
        f"A link of {count} characters fits no QR that a label carries.", "Take a shorter host."
    )


def _least_dots(smallest_mm: float, dot_mm: float) -> int:
    return math.ceil(smallest_mm / dot_mm - _ROUNDING)


def _runs(modules: Iterable[Iterable[bool]]) -> Iterator[tuple[int, int, int]]:
    for y, row in enumerate(modules):
        for run in _DARK.finditer(bytes(row)):
            yield run.start(), y, run.end() - run.start()
