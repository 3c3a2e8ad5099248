"""An item: a thing of the record that can have a label, and what that label would say now."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final, NamedTuple

from labels.design import KINDS, Label, label
from records.changes.prints import ToPrint
from records.models.tag_code import grouped
from records.queries.prints import AnyHolder, Holder, Subject, sort_of

BLANK_CODE: Final = "00000000"
"""Stands on a first look for a code that is not issued yet; a true code, never issued."""

WHAT: Final[Mapping[str, str]] = {
    "cupboard": "Cupboards, cabinets, chambers, poles",
    "box": "Splitters, panels, closures and other boxes",
    "tray": "Splice trays",
    "leg": "Splitter legs",
    "port": "Other ports",
    "cable": "Cable ends",
    "home": "Outlets and terminals in homes",
    "caution": "Cautions where there can be light",
    "blank": "Blank tags",
}
"""The sorts of labels, in the order in which they are offered."""

OPTIONAL: Final[Mapping[str, str]] = {
    "equipment": "name of the box on port, leg and tray labels",
    "size": "split ratio, count of ports or of fibres",
    "place_code": "code of the place on port and box labels",
}
"""The fields that a run may leave out, as the form offers them."""

USUAL_FIELDS: Final = frozenset({"equipment", "size"})


class Plate(NamedTuple):
    """What stands on the plate of a place: its name, or where that is empty, its code."""

    place_id: int
    name: str


NO_PLATES: Final[Mapping[str, Plate]] = MappingProxyType({})


class Item(NamedTuple):
    """A thing that can have a label: what it is, where its label belongs, and what that says.

    `what` is one of WHAT. `plates` are the fields that quote the code of another place's plate;
    `with_codes` fills them and `code` in anew. A blank tag is for no thing and has a code from
    the beginning. `walk` sorts items in the order of a walk.
    """

    what: str
    kind: str
    noun: str
    thing_id: int | None
    name: str
    where: str
    place_id: int | None
    fields: Mapping[str, str]
    cable_end: str = ""
    tray: str = ""
    plates: Mapping[str, Plate] = NO_PLATES
    code: str = ""
    diameter_mm: float | None = None
    note: str = ""
    walk: tuple[object, ...] = ()

    @property
    def key(self) -> str:
        """Return what names the item on a page: 'point-12', 'cable-7A', 'equipment-3 tray 4'."""
        sort = f" {self.what}" if self.kind in {"caution", "home_outlet"} else ""
        tray = f" tray {self.tray}" if self.tray else ""
        return f"{self.noun}-{self.thing_id or self.code}{self.cable_end}{tray}{sort}"

    @property
    def has_code(self) -> bool:
        """Tell whether a label of its kind carries a code."""
        return KINDS[self.kind].has_code

    @property
    def needs_code(self) -> bool:
        """Tell whether a code must be issued before the label can be printed."""
        return self.has_code and not self.code

    @property
    def holder(self) -> Holder:
        """Return what its tag hangs on; a tray plate carries the tag of its box."""
        return Holder(self.noun, self.thing_id, self.cable_end)

    @property
    def subject(self) -> Subject:
        """Return what the label is for, whatever it looks like."""
        return Subject(sort_of(self.kind), self.noun, self.thing_id, self.cable_end, self.tray)

    def texts(self, shown: frozenset[str] = USUAL_FIELDS) -> dict[str, str]:
        """Return the text of each field that a run shows, empty where there is none."""
        left_out = OPTIONAL.keys() - shown
        return {
            name: self.fields.get(name, "")
            for name in KINDS[self.kind].fields
            if name not in left_out
        }

    def to_print(self, shown: frozenset[str], *, is_new: bool) -> ToPrint:
        """Return what is recorded of the label when it is printed."""
        return ToPrint(
            kind=self.kind,
            fields=self.texts(shown),
            code=self.code if self.has_code else "",
            is_new=is_new,
            noun=self.noun,
            thing=self.thing_id,
            cable_end=self.cable_end,
            tray=self.tray,
            diameter_mm=None if self.diameter_mm is None else Decimal(str(self.diameter_mm)),
            place=self.place_id,
        )

    def label(self, shown: frozenset[str] = USUAL_FIELDS) -> Label:
        """Return the label. Raises: LabelError; TagCodeError while it has no code."""
        code = self.code if self.has_code else ""
        return label(self.kind, code=code, diameter_mm=self.diameter_mm, **self.texts(shown))


def holders(items: Iterable[Item]) -> set[Holder]:
    """Return all that the items' labels quote a tag of."""
    found: set[Holder] = set()
    for item in items:
        if item.has_code and item.thing_id is not None:
            found.add(item.holder)
        for plate in item.plates.values():
            found.add(Holder("place", plate.place_id))
    return found


def things_of(items: Iterable[Item]) -> dict[str, set[int]]:
    """Return the things that the items' labels are for, by noun."""
    found: dict[str, set[int]] = {}
    for item in items:
        if item.thing_id is not None:
            found.setdefault(item.noun, set()).add(item.thing_id)
    return found


def with_codes(items: Iterable[Item], codes: Mapping[AnyHolder, str]) -> list[Item]:
    """Return the items with the codes that hang on their things, also where they quote one."""
    return [_with_codes(item, codes) for item in items]


def _with_codes(item: Item, codes: Mapping[AnyHolder, str]) -> Item:
    if item.thing_id is None:
        return item
    code = codes.get(item.holder, "") if item.has_code else ""
    if not item.plates:
        return item if code == item.code else item._replace(code=code)
    quoted = {
        name: grouped(codes.get(Holder("place", plate.place_id), "")).strip("-")
        for name, plate in item.plates.items()
    }
    return item._replace(code=code, fields={**item.fields, **quoted})
