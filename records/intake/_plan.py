"""What taking a sheet in would do: row by row, what is new and what is there already."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from records.intake._assumptions import Assumptions
from records.intake._entries import Entry
from records.intake._faults import Fault, Remark
from records.intake._types import Types
from records.queries.words import counted

Key = tuple[str | int, ...]
"""What makes a thing one and the same in all rows, whether it is in the record yet or not."""


class Kind(StrEnum):
    """What a row brings, in the order in which it is built."""

    ESTATE = "estate"
    BUILDING = "building"
    FLOOR = "floor"
    FLAT = "flat"
    CUPBOARD = "riser cupboard"
    SPLITTER = "splitter"
    OUTLET = "outlet"
    CABLE = "cable"
    TERMINAL = "home terminal"
    BOOKING = "booking"
    SPLICE = "fibre to outlet"
    CORD = "outlet to terminal"
    LEG_JOINT = "leg to fibre"
    READING = "reading"


JOINTS = (Kind.SPLICE, Kind.CORD, Kind.LEG_JOINT)
"""What follows from the rest of a row, and so needs no mention beside it."""

COLUMN_OF = {
    Kind.ESTATE: "estate",
    Kind.BUILDING: "building",
    Kind.FLOOR: "floor",
    Kind.FLAT: "flat",
    Kind.CUPBOARD: "splitter",
    Kind.SPLITTER: "splitter",
    Kind.CABLE: "cable",
    Kind.OUTLET: "outlet",
    Kind.TERMINAL: "serial",
    Kind.BOOKING: "leg",
    Kind.SPLICE: "fibre",
    Kind.CORD: "serial",
    Kind.LEG_JOINT: "leg",
    Kind.READING: "level_dbm",
}
"""The column to blame when a thing of this kind can't be built."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that a row speaks of; `pk` is its number in the record, None while it is new."""

    kind: Kind
    key: Key
    name: str
    pk: int | None = None

    @property
    def is_new(self) -> bool:
        """Tell whether taking the sheet in would add it."""
        return self.pk is None


@dataclass(frozen=True, slots=True, kw_only=True)
class RowPlan:
    """What one row would add, and what of it is there already."""

    entry: Entry
    items: tuple[Item, ...]

    @property
    def number(self) -> int:
        """Return the row as a spreadsheet program counts it."""
        return self.entry.row

    @property
    def added(self) -> tuple[Item, ...]:
        """Return what is new; a thing that several rows share counts in each."""
        return tuple(item for item in self.items if item.is_new)

    @property
    def words(self) -> str:
        """Return in words what the row adds; its joints go without saying."""
        names = [item.name for item in self.added if item.kind not in JOINTS]
        if self.is_there_already:
            return "nothing new"
        return ", ".join(names) or "joints only"

    @property
    def is_there_already(self) -> bool:
        """Tell whether the record holds all of this row."""
        return not self.added

    def item(self, kind: Kind) -> Item | None:
        """Return what the row has of a kind."""
        return next((item for item in self.items if item.kind == kind), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class CableSpec:
    """A cable to lay: where it leads, and its fibres' own lengths where they differ."""

    name: str
    a_place: Key
    b_place: Key
    fibre_count: int
    length_m: float
    lengths_m: dict[int, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How many things of a kind a sheet would add, and how many it finds in the record."""

    kind: Kind
    new: int
    there: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What a sheet would do. It can be committed only while it has no faults.

    `splitter_types` are the catalogue entries of new splitters, `lines` the lines to book for, by
    row, None where the flat is new and gets its own.
    """

    rows: tuple[RowPlan, ...]
    cables: dict[Key, CableSpec]
    splitter_types: dict[Key, int]
    lines: dict[int, int | None]
    types: Types
    assumptions: Assumptions
    headers: dict[str, str]
    faults: tuple[Fault, ...]
    remarks: tuple[Remark, ...]

    @property
    def is_sound(self) -> bool:
        """Tell whether nothing stands in the way that could be seen without building it."""
        return not self.faults

    @property
    def counts(self) -> tuple[Count, ...]:
        """Return the counts of each kind that occurs, in the order in which things are built."""
        items = {item.key: item for row in self.rows for item in row.items}
        return tuple(
            Count(
                kind=kind,
                new=sum(item.is_new for item in items.values() if item.kind == kind),
                there=sum(not item.is_new for item in items.values() if item.kind == kind),
            )
            for kind in Kind
            if any(item.kind == kind for item in items.values())
        )

    @property
    def words(self) -> str:
        """Return in words what taking the sheet in adds, by kind and count."""
        new = [each for each in self.counts if each.new]
        things = [counted(each.new, each.kind) for each in new if each.kind not in JOINTS]
        joints = sum(each.new for each in new if each.kind in JOINTS)
        things += [counted(joints, "joint")] if joints else []
        return f"took in {counted(len(self.rows), 'row')}: {', '.join(things) or 'nothing new'}"

    @property
    def is_there_already(self) -> bool:
        """Tell whether the record holds all of the sheet, so that there is nothing to do."""
        return all(row.is_there_already for row in self.rows)


@dataclass(slots=True)
class Draft:
    """A row while it is being checked."""

    entry: Entry
    items: dict[Kind, Item]

    def add(self, item: Item) -> None:
        """Put in a thing that the row speaks of."""
        self.items[item.kind] = item

    def pk(self, kind: Kind) -> int | None:
        """Return the number in the record of what the row has of a kind, if it is there."""
        item = self.items.get(kind)
        return item.pk if item else None

    def planned(self) -> RowPlan:
        """Return the row with its things in the order in which they are built."""
        return RowPlan(
            entry=self.entry,
            items=tuple(self.items[kind] for kind in Kind if kind in self.items),
        )


def pks_of(drafts: Iterable[Draft], *kinds: Kind) -> set[int]:
    """Return the numbers in the record of all things of some kinds."""
    return {pk for draft in drafts for kind in kinds for pk in [draft.pk(kind)] if pk is not None}
