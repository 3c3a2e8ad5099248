"""The splitters of a sheet and their legs."""

from collections import defaultdict
from collections.abc import Iterable

from records.intake._faults import Findings
from records.intake._keys import name_key
from records.intake._locating import place_key
from records.intake._places import Places, inside
from records.intake._plan import Draft, Item, Key, Kind
from records.intake._types import Types
from records.models import (
    CatalogueEntry,
    EntryKind,
    Equipment,
    EquipmentKind,
    Place,
    PlaceKind,
    Point,
    Role,
)
from records.queries.names import addresses


class Splitters:
    """The splitters in the estates of a sheet, and those that the sheet brings."""

    def __init__(self, drafts: Iterable[Draft], places: Places, types: Types) -> None:
        """Read those in the record with their legs."""
        listed = list(drafts)
        self._types = types
        wanted = {name_key(each.entry.splitter) for each in listed}
        found = (
            Equipment.objects.filter(
                inside(places.estates, "place__"), kind=EquipmentKind.SPLITTER
            )
            .select_related("place", "entry")
            .order_by("pk")
        )
        self._recorded: dict[str, list[Equipment]] = defaultdict(list)
        for each in found:
            if name_key(each.name) in wanted:
                self._recorded[name_key(each.name)].append(each)
        self.by_pk = {each.pk: each for some in self._recorded.values() for each in some}
        self.legs = {
            (leg.equipment_id, leg.number): leg
            for leg in Point.objects.filter(equipment__in=list(self.by_pk), role=Role.LEG)
        }
        self._building_paths = _building_paths(places, self.by_pk.values())
        self._sizes = {
            entry.name.casefold(): entry
            for entry in CatalogueEntry.objects.filter(kind=EntryKind.SPLITTER).order_by("version")
        }
        self._brought: dict[Key, tuple[int, CatalogueEntry]] = {}
        self._first_row: dict[Key, int] = {}
        self._addresses = addresses({each.place for each in self.by_pk.values()})
        self._told: set[int] = set()

    def find(self, draft: Draft, places: Places, cupboard: str, findings: Findings) -> None:
        """Put the splitter of a row in, and the cupboard of a new one. Note what clashes.

        A cable without a splitter starts in the cupboard as well.
        """
        entry, building = draft.entry, draft.items.get(Kind.BUILDING)
        if building is None:
            return
        if not entry.splitter:
            if entry.cable:
                draft.add(_cupboard(building, places, cupboard))
            return
        found = self._in_record(draft, building, places)
        if len(found) > 1:
            where = ", ".join(each.place.name for each in found)
            findings.fault(
                entry.row,
                "splitter",
                entry.splitter,
                f"There are {len(found)} splitters {entry.splitter}: in {where}.",
                allowed="A name that only one has; rename the others first.",
            )
        elif found:
            self._take_recorded(draft, found[0], findings)
        else:
            stands = _cupboard(building, places, cupboard)
            draft.add(stands)
            self._bring(draft, stands, findings)

    def _in_record(self, draft: Draft, building: Item, places: Places) -> list[Equipment]:
        """Return the splitters of a name in a building, else in the estate outside buildings."""
        estate = places.estate(draft.items[Kind.ESTATE].name)
        named = self._recorded[name_key(draft.entry.splitter)]
        cupboard = name_key(draft.entry.cupboard)
        around = next((each for each in places.buildings if each.pk == building.pk), None)
        within = [
            each
            for each in named
            if around and each.place.path.startswith(around.path)
            if not cupboard or name_key(each.place.name) == cupboard
        ]
        return within or [
            each
            for each in named
            if estate
            and each.place.path.startswith(estate.path)
            and not self._is_in_a_building(each.place)
        ]

    def _is_in_a_building(self, place: Place) -> bool:
        ends = range(Place.steplen, len(place.path) + 1, Place.steplen)
        return any(place.path[:end] in self._building_paths for end in ends)

    def _take_recorded(self, draft: Draft, found: Equipment, findings: Findings) -> None:
        entry = draft.entry
        draft.add(Item(Kind.SPLITTER, ("splitter", found.pk), found.name, found.pk))
        if not self._is_in_a_building(found.place) and found.pk not in self._told:
            self._told.add(found.pk)
            message = f"{found.name} is the one in {found.place}, outside the building."
            findings.remark(entry.row, "splitter", message)
        of_type = found.entry
        if entry.ratio and of_type and entry.ratio.casefold() != of_type.name.casefold():
            findings.fault(
                entry.row,
                "ratio",
                entry.ratio,
                f"{found.name} is a {of_type.name} in the record.",
                allowed=f"{of_type.name}, or empty.",
            )
        if entry.leg and (found.pk, entry.leg) not in self.legs:
            count = of_type.outputs if of_type else 0
            _no_such_leg(draft, found.name, count, findings)

    def _bring(self, draft: Draft, stands: Item, findings: Findings) -> None:
        entry = draft.entry
        key: Key = ("splitter", *stands.key, name_key(entry.splitter))
        of_type = self._type_of_new(draft, key, findings)
        self._note_namesake(draft, key, findings)
        size = f" ({of_type.name})" if of_type else ""
        draft.add(Item(Kind.SPLITTER, key, f"{entry.splitter}{size}"))
        if entry.leg and of_type and entry.leg > of_type.outputs:
            _no_such_leg(draft, f"{entry.splitter} ({of_type.name})", of_type.outputs, findings)

    def _note_namesake(self, draft: Draft, key: Key, findings: Findings) -> None:
        """Note, once for a new splitter, that others of its name stand in other buildings."""
        named = self._recorded[name_key(draft.entry.splitter)]
        if not named or self._first_row.setdefault(key, draft.entry.row) != draft.entry.row:
            return
        where = "; ".join(self._addresses[each.place_id] for each in named)
        findings.remark(
            draft.entry.row,
            "splitter",
            f"{named[0].name} already stands in {where}; this makes another one of the name in "
            f"{draft.items[Kind.BUILDING].name}.",
        )

    def _type_of_new(self, draft: Draft, key: Key, findings: Findings) -> CatalogueEntry | None:
        entry = draft.entry
        wanted = self._sizes.get(entry.ratio.casefold()) if entry.ratio else None
        if entry.ratio and wanted is None:
            sizes = ", ".join(each.name for each in self._sizes.values())
            findings.fault(
                entry.row,
                "ratio",
                entry.ratio,
                f"The catalogue has no splitter '{entry.ratio}'.",
                allowed=f"One of: {sizes}.",
            )
            return None
        if key not in self._brought:
            of_type = wanted or self._types.splitter
            if of_type:
                self._brought[key] = (entry.row, of_type)
            return of_type
        row, of_type = self._brought[key]
        if wanted and wanted != of_type:
            findings.fault(
                entry.row,
                "ratio",
                entry.ratio,
                f"Row {row} has {entry.splitter} as a {of_type.name}.",
                allowed="One ratio for one splitter, in its first row.",
                rows=(row, entry.row),
            )
        return of_type

    def types_brought(self) -> dict[Key, int]:
        """Return the type of each splitter that the sheet brings, by its number."""
        return {key: of_type.pk for key, (_, of_type) in self._brought.items()}

    def place_of(self, draft: Draft) -> Key | None:
        """Return where the splitter of a row stands."""
        pk = draft.pk(Kind.SPLITTER)
        if pk is not None:
            return place_key(self.by_pk[pk].place_id)
        stands = draft.items.get(Kind.CUPBOARD)
        return stands.key if stands else None

    def leg(self, draft: Draft) -> Point | None:
        """Return the leg of a row, if it is in the record."""
        pk, number = draft.pk(Kind.SPLITTER), draft.entry.leg
        return self.legs.get((pk, number)) if pk and number else None


def _building_paths(places: Places, splitters: Iterable[Equipment]) -> set[str]:
    """Return the paths of all buildings that splitters stand in."""
    ends = {
        each.place.path[:end]
        for each in splitters
        for end in range(Place.steplen, len(each.place.path) + 1, Place.steplen)
    }
    found = Place.objects.filter(inside(places.estates), kind=PlaceKind.BUILDING, path__in=ends)
    return set(found.values_list("path", flat=True))


def _cupboard(building: Item, places: Places, name: str) -> Item:
    found = places.cupboard(building.pk, name) if building.pk else None
    if found:
        return Item(Kind.CUPBOARD, place_key(found.pk), found.name, found.pk)
    return Item(Kind.CUPBOARD, ("cupboard", *building.key, name_key(name)), name)


def _no_such_leg(draft: Draft, splitter: str, count: int, findings: Findings) -> None:
    entry = draft.entry
    findings.fault(
        entry.row,
        "leg",
        entry.leg,
        f"{splitter} has no leg {entry.leg}.",
        allowed=f"From 1 to {count}.",
    )
