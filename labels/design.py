"""The kinds of label, and what each may show.

A label shows only fields of its kind, from one fixed list. There is no field for an address, an
occupant or a service, so no label can carry one: the label says little, the record says all.
Source: BSI basic protection catalogues M 2.19 and M 2.396; TIA-606 as restated (each cable end,
port and outlet marked, sans serif, upper case, machine-printed).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from labels.qr import LARGEST_MODULE_MM, SMALLEST_MODULE_MM, link
from labels.refusals import LabelRefusal
from labels.text_fit import CORD_CAP_MM, LEGIBLE_CAP_MM
from records.models.tag_code import parse

FIELDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "number": "number of the port, leg or tray",
        "name": "name of the box or cable, as on the neutral sheet",
        "equipment": "name of the box the port, leg or tray belongs to",
        "size": "split ratio, count of ports or count of fibres",
        "place_code": "code of the place, never its address",
        "end": "A or B",
        "near_end": "code of the place where this end is",
        "far_end": "code of the place where the other end is",
        "line": "identifier of the line, as given",
        "pictogram": "sign of a caution, as its country has it",
        "signal": "signal word of a caution",
        "words": "words of a caution",
        "level": "hazard level, as the assessor stated it",
        "assessed_on": "day of the assessor's statement",
    }
)


class LabelError(LabelRefusal):
    """A label that asks for what its kind hasn't, or lacks what it needs."""

    code = "label_wrong"


class Arrangement(StrEnum):
    """How a kind stands on its label."""

    PANEL = "QR beside its text"
    WRAP = "text around a cable, under a clear tail"
    FLAG = "two faces, folded around a cord"
    LINE = "one text in the middle"
    CAUTION = "pictogram beside its words"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of label. The first of `fields` is printed large; `required` must be given."""

    name: str
    title: str
    arrangement: Arrangement
    fields: tuple[str, ...]
    required: tuple[str, ...] = ()
    has_code: bool = True
    has_qr: bool = True
    floor_cap_mm: float = LEGIBLE_CAP_MM
    keeps_case: bool = False


_CABLE_FIELDS: Final = ("name", "end", "near_end", "far_end", "size")

KINDS: Final[Mapping[str, Kind]] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind(
                "port",
                "Port",
                Arrangement.PANEL,
                ("number", "equipment", "place_code"),
                required=("number",),
                floor_cap_mm=CORD_CAP_MM,
            ),
            Kind(
                "leg",
                "Splitter leg",
                Arrangement.PANEL,
                ("number", "equipment", "place_code"),
                required=("number",),
                floor_cap_mm=CORD_CAP_MM,
            ),
            Kind("splitter", "Splitter", Arrangement.PANEL, ("name", "size", "place_code")),
            Kind("panel", "Panel", Arrangement.PANEL, ("name", "size", "place_code")),
            Kind("tray", "Splice tray", Arrangement.PANEL, ("number", "equipment", "size")),
            Kind("closure", "Closure", Arrangement.PANEL, ("name", "size", "place_code")),
            Kind("terminal", "Home terminal", Arrangement.PANEL, ("name", "line")),
            Kind("cupboard", "Cupboard or cabinet", Arrangement.PANEL, ("name",)),
            Kind("blank", "Blank tag, bound later", Arrangement.PANEL, ()),
            Kind(
                "cable_wrap",
                "Cable, wrapped",
                Arrangement.WRAP,
                _CABLE_FIELDS,
                required=("end",),
                has_qr=False,
                floor_cap_mm=CORD_CAP_MM,
            ),
            Kind(
                "cable_flag",
                "Cord or drop, flag",
                Arrangement.FLAG,
                _CABLE_FIELDS,
                required=("end",),
                floor_cap_mm=CORD_CAP_MM,
            ),
            Kind(
                "home_outlet",
                "Outlet in the home",
                Arrangement.LINE,
                ("line",),
                required=("line",),
                has_code=False,
                has_qr=False,
                keeps_case=True,
            ),
            Kind(
                "caution",
                "Caution at optical ports",
                Arrangement.CAUTION,
                ("signal", "words", "level", "assessed_on", "pictogram"),
                required=("signal", "words"),
                has_code=False,
                has_qr=False,
            ),
        )
    }
)


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says. Make it with `label`, which checks it."""

    kind: Kind
    code: str
    fields: tuple[tuple[str, str], ...]
    diameter_mm: float | None


@dataclass(frozen=True, slots=True)
class LabelSettings:
    """What the owner has settled for all labels.

    `requires_qr` refuses a label whose QR doesn't fit, where it would else fall to text.
    `has_https` is off only where the site is reached without, as the demo is. `own_picture` is
    that of the owner's own pictogram, as own_sign.py keeps it.
    """

    host: str
    has_upper_case_link: bool = True
    has_upper_case_text: bool = True
    requires_qr: bool = False
    smallest_module_mm: float = SMALLEST_MODULE_MM
    has_https: bool = True
    own_picture: str = ""

    def link(self, code: str) -> str:
        """Return the link that the QR of a tag holds. Raises: LinkError."""
        return link(code, self.host, upper_case=self.has_upper_case_link, has_https=self.has_https)

    def __post_init__(self) -> None:
        if not self.smallest_module_mm >= SMALLEST_MODULE_MM:
            raise LabelError(
                f"A module of {self.smallest_module_mm:g} mm is under the published smallest.",
                f"Give {SMALLEST_MODULE_MM:g} mm or more.",
            )
        if not self.smallest_module_mm <= LARGEST_MODULE_MM:
            raise LabelError(
                f"A module of {self.smallest_module_mm:g} mm only wastes label.",
                f"Give {LARGEST_MODULE_MM:g} mm or less.",
            )


def label(
    kind_name: str, *, code: str = "", diameter_mm: float | None = None, **fields: str
) -> Label:
    """Make a label of a kind from plain values.

    Empty fields are left out. `diameter_mm` is the outer diameter of the cable that a wrap or a
    flag goes around.

    Raises: LabelError; TagCodeError for a code that isn't one.
    """
    kind = KINDS.get(kind_name)
    if kind is None:
        raise LabelError(
            f"There is no label kind {kind_name!r}.", f"Choose of: {', '.join(KINDS)}."
        )
    _check_fields(kind, fields)
    if kind.has_code != bool(code):
        needs = "needs a tag code" if kind.has_code else "carries no tag code"
        raise LabelError(f"A label of kind {kind.name} {needs}.", _CODE_HINT[kind.has_code])
    given = ((name, " ".join(fields.get(name, "").split())) for name in kind.fields)
    return Label(
        kind,
        parse(code) if code else "",
        tuple((name, text) for name, text in given if text),
        _checked_diameter(kind, diameter_mm),
    )


def both_ends(
    kind_name: str,
    *,
    codes: tuple[str, str],
    place_codes: tuple[str, str],
    diameter_mm: float,
    **fields: str,
) -> tuple[Label, Label]:
    """Make the labels of a cable's A end and B end, each with its near and its far place."""
    (code_a, code_b), (place_a, place_b) = codes, place_codes
    ends = (("A", code_a, place_a, place_b), ("B", code_b, place_b, place_a))
    first, second = (
        label(
            kind_name,
            code=code,
            diameter_mm=diameter_mm,
            end=end,
            near_end=near,
            far_end=far,
            **fields,
        )
        for end, code, near, far in ends
    )
    return first, second


_CODE_HINT: Final = {
    True: "Issue one for the thing first.",
    False: "Print the code on a label of its own.",
}


def _check_fields(kind: Kind, fields: Mapping[str, str]) -> None:
    for name in fields:
        if name not in kind.fields:
            raise LabelError(
                f"A label of kind {kind.name} has no field {name!r}.",
                f"It may show: {', '.join(kind.fields) or 'its code only'}.",
            )
    for name in kind.required:
        if not fields.get(name, "").strip():
            raise LabelError(
                f"A label of kind {kind.name} needs its {name}: {FIELDS[name]}.", "Give it."
            )
    if fields.get("end", "A") not in {"A", "B"}:
        raise LabelError(f"{fields['end']!r} is no end of a cable.", "Give A or B.")
    if bool(fields.get("level")) != bool(fields.get("assessed_on")):
        raise LabelError(
            "A hazard level is a dated statement of an assessor.",
            "Give the level and the day it was assessed, or neither.",
        )


def _checked_diameter(kind: Kind, diameter_mm: float | None) -> float | None:
    if kind.arrangement not in {Arrangement.WRAP, Arrangement.FLAG}:
        return None
    if diameter_mm is None or not diameter_mm > 0:
        raise LabelError(
            f"A label of kind {kind.name} goes around a cable, and {diameter_mm} is no diameter.",
            "Give the outer diameter in mm.",
        )
    return diameter_mm
