"""Where the rows of a sheet are: estate, building, floor and flat, in the record or new."""

from collections.abc import Iterable

from records.intake._entries import Entry
from records.intake._faults import Findings
from records.intake._keys import flat_key, name_key
from records.intake._places import Places
from records.intake._plan import Draft, Item, Key, Kind
from records.models import Place


def place_key(pk: int) -> Key:
    """Return the key of a place in the record."""
    return ("place", pk)


def _item(kind: Kind, found: Place | None, key: Key, name: str) -> Item:
    if found is not None:
        return Item(kind, place_key(found.pk), found.name, found.pk)
    return Item(kind, key, name)


def locate(draft: Draft, places: Places, findings: Findings) -> None:
    """Put the places of a row in, as far as they are clear."""
    if not draft.entry.building or not draft.entry.flat:
        return
    estate = _estate(draft.entry, places)
    building = estate and _building(draft.entry, estate, places, findings)
    if not estate or not building:
        return
    draft.add(estate)
    draft.add(building)
    floor = _floor(draft.entry, building, places)
    flat = _flat(draft, floor or building, places, findings)
    if flat:
        draft.add(flat)
    # A flat that the record has on no floor stays where it is, and needs no new floor.
    if floor and (flat is None or flat.is_new or not floor.is_new):
        draft.add(floor)


def note_no_estate(entries: Iterable[Entry], places: Places, findings: Findings) -> None:
    """Note, once for all of them, rows that name no estate where none is meant by itself."""
    listed = list(entries)
    without = [each.row for each in listed if not places.estate_name(each)]
    if not without:
        return
    known = ", ".join(places.estate_names())
    is_whole_sheet = len(without) == len(listed)
    findings.fault(
        None if is_whole_sheet else without[0],
        "estate",
        "",
        f"No estate is named{'' if is_whole_sheet else ' here'}, and none for the whole sheet.",
        allowed=f"An estate's name, new or one of: {known}." if known else "An estate's name.",
        rows=() if is_whole_sheet else without,
    )


def _estate(entry: Entry, places: Places) -> Item | None:
    name = places.estate_name(entry)
    if not name:
        return None
    return _item(Kind.ESTATE, places.estate(name), ("estate", name_key(name)), name)


def _building(entry: Entry, estate: Item, places: Places, findings: Findings) -> Item | None:
    around = places.estate(estate.name)
    found = places.buildings_in(around, entry.building) if around else []
    if len(found) > 1:
        findings.fault(
            entry.row,
            "building",
            entry.building,
            f"{estate.name} has {len(found)} buildings called {entry.building}.",
            allowed="A name that only one has; rename the others first.",
        )
        return None
    key = ("building", *estate.key, name_key(entry.building))
    return _item(Kind.BUILDING, found[0] if found else None, key, entry.building)


def _floor(entry: Entry, building: Item, places: Places) -> Item | None:
    storey = entry.floor
    if storey is None:
        return None
    found = places.floor(building.pk, storey) if building.pk else None
    label = name_key(storey.name) if storey.number is None else storey.number
    return _item(Kind.FLOOR, found, ("floor", *building.key, label), storey.name)


def _flat(draft: Draft, around: Item, places: Places, findings: Findings) -> Item | None:
    """Return the flat of a row; `around` is its floor, or its building where it has none."""
    entry, building = draft.entry, draft.items[Kind.BUILDING]
    same_name = places.dwellings(building.pk, entry.flat) if building.pk else []
    found = [each for each in same_name if _is_on(each, around, building, places)]
    if len(found) > 1:
        findings.fault(
            entry.row,
            "floor",
            "",
            f"{building.name} has {len(found)} dwellings called {entry.flat}.",
            allowed="The floor, to tell them apart.",
        )
        return None
    if same_name and not found:
        message = f"{building.name} has a {entry.flat} on another floor as well."
        findings.remark(entry.row, "flat", message)
    key = ("flat", *around.key, flat_key(entry.flat))
    return _item(Kind.FLAT, found[0] if found else None, key, entry.flat)


def _is_on(dwelling: Place, around: Item, building: Item, places: Places) -> bool:
    """Tell whether a dwelling may be the one: where either side has no floor, any will do."""
    if building.pk is None or around == building:
        return True
    recorded = places.floor_under(dwelling, building.pk)
    return recorded is None or recorded.pk == around.pk
