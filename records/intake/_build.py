"""Build what is new of some rows, kind by kind, each kind at once by its verb's form for many."""

from collections.abc import Callable, Sequence

from django.db.models import Model

from records.changes import OpenChange, bookings, cables, equipment, joints, places, readings
from records.intake._plan import Item, Key, Kind, RowPlan
from records.intake._site import Port, Site
from records.models import (
    EquipmentKind,
    JointKind,
    Line,
    PlaceKind,
    Role,
)

Wanted = Sequence[tuple[RowPlan, Item]]
"""Things of a kind that don't stand yet, each with the first row that has it."""


def build(change: OpenChange, site: Site, rows: Sequence[RowPlan], kind: Kind) -> None:
    """Build what some rows have of a kind unless it stands. Raises: what its verb refuses."""
    site.rows = rows
    wanted: dict[Key, tuple[RowPlan, Item]] = {}
    for row in rows:
        item = row.item(kind)
        if item is not None and item.key not in site.standing:
            wanted.setdefault(item.key, (row, item))
    if wanted:
        built = _BUILDERS[kind](change, site, list(wanted.values()))
        site.standing.update(zip(wanted, built, strict=True))


def _pks(made: Sequence[Model]) -> list[int]:
    return [each.pk for each in made]


def _estates(change: OpenChange, _site: Site, wanted: Wanted) -> list[int]:
    new = [places.NewPlace(kind=PlaceKind.ESTATE, name=item.name) for _row, item in wanted]
    return _pks(places.add_all(change, new))


def _buildings(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        places.NewPlace(kind=PlaceKind.BUILDING, name=item.name, parent=site.pk(row, Kind.ESTATE))
        for row, item in wanted
    ]
    return _pks(places.add_all(change, new))


def _cupboards(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        places.NewPlace(
            kind=PlaceKind.CUPBOARD, name=item.name, parent=site.pk(row, Kind.BUILDING)
        )
        for row, item in wanted
    ]
    return _pks(places.add_all(change, new))


def _floors(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        places.NewPlace(
            kind=PlaceKind.FLOOR,
            name=item.name,
            parent=site.pk(row, Kind.BUILDING),
            storey=row.entry.floor.number if row.entry.floor else None,
        )
        for row, item in wanted
    ]
    return _pks(places.add_all(change, new))


def _flats(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        places.NewPlace(
            kind=PlaceKind.FLAT,
            name=item.name,
            parent=site.pk(row, Kind.FLOOR if row.item(Kind.FLOOR) else Kind.BUILDING),
            note="" if row.item(Kind.READING) else row.entry.note,
        )
        for row, item in wanted
    ]
    return _pks(places.add_all(change, new))


def _splitters(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        equipment.NewEquipment(
            kind=EquipmentKind.SPLITTER,
            place=site.pk(row, Kind.CUPBOARD),
            name=row.entry.splitter,
            entry=site.plan.splitter_types[item.key],
            polish=site.plan.assumptions.splitter_polish,
        )
        for row, item in wanted
    ]
    return _pks(equipment.install_all(change, new))


def _outlets(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    mated = site.plan.types.mated
    new = [
        equipment.NewEquipment(
            kind=EquipmentKind.OUTLET,
            place=site.pk(row, Kind.FLAT),
            name=item.name,
            entry=mated.pk if mated else None,
            polish=site.plan.assumptions.outlet_polish,
            back_polish="",
        )
        for row, item in wanted
    ]
    return _pks(equipment.install_all(change, new))


def _terminals(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    receives = site.plan.types.terminal_class
    new = [
        equipment.NewEquipment(
            kind=EquipmentKind.TERMINAL,
            place=site.pk(row, Kind.FLAT),
            name=site.plan.assumptions.terminal,
            serial=item.name,
            polish=site.plan.assumptions.outlet_polish,
            optical_class=receives.pk if receives else None,
        )
        for row, item in wanted
    ]
    return _pks(equipment.install_all(change, new))


def _cables(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    return _pks(cables.lay_all(change, [_cable(site, row, item) for row, item in wanted]))


def _cable(site: Site, row: RowPlan, item: Item) -> cables.NewCable:
    """Return a cable whose ends suit the leg and the outlet.

    Without a leg to suit, the near ends get the connectors that a new splitter would have; the far
    ends of a cable to several flats stay bare.
    """
    spec, types = site.plan.cables[item.key], site.plan.types
    leg = _leg(site, row) if row.item(Kind.LEG_JOINT) else None
    flat = row.item(Kind.FLAT)
    ends_here = flat is not None and spec.b_place == flat.key
    return cables.NewCable(
        name=spec.name,
        a_place=site.place(spec.a_place),
        b_place=site.place(spec.b_place),
        length_m=spec.length_m,
        fibre_count=spec.fibre_count,
        entry=types.fibre.pk if types.fibre else None,
        colour_scheme=types.colour_scheme.pk if types.colour_scheme else None,
        a_polish=leg.polish if leg else site.plan.assumptions.splitter_polish,
        b_polish=site.port(row, Kind.OUTLET, Role.BACK).polish if ends_here else "",
        lengths_m=spec.lengths_m,
    )


def _leg(site: Site, row: RowPlan) -> Port:
    return site.port(row, Kind.SPLITTER, Role.LEG, row.entry.leg or 0)


def _fibre_end(site: Site, row: RowPlan, role: Role) -> Port:
    return site.port(row, Kind.CABLE, role, row.entry.fibre or 0)


def _bookings(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    listed = [(row, site.plan.lines[row.number]) for row, _item in wanted]
    new_flats = [site.pk(row, Kind.FLAT) for row, line in listed if line is None]
    own = dict(Line.objects.filter(place__in=new_flats).values_list("place", "pk"))
    new = [
        bookings.NewBooking(_leg(site, row).pk, line or own[site.pk(row, Kind.FLAT)])
        for row, line in listed
    ]
    return _pks(bookings.book_all(change, new))


def _splices(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        _joint(
            site,
            site.port(row, Kind.OUTLET, Role.BACK),
            _fibre_end(site, row, Role.B_END),
            stands_in=site.pk(row, Kind.OUTLET),
        )
        for row, _item in wanted
    ]
    return _pks(joints.join_all(change, new))


def _leg_joints(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        _joint(site, _leg(site, row), _fibre_end(site, row, Role.A_END)) for row, _item in wanted
    ]
    return _pks(joints.join_all(change, new))


def _joint(site: Site, near: Port, far: Port, *, stands_in: int | None = None) -> joints.NewJoint:
    """Mate connectors; splice where the near end is bare."""
    types = site.plan.types
    entry = types.mated if near.polish else types.splice
    return joints.NewJoint(
        a=near.pk,
        b=far.pk,
        kind=entry.kind if entry else JointKind.MATED,
        entry=entry.pk if entry else None,
        stands_in=stands_in,
    )


def _cords(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [
        joints.NewPatch(
            a=site.port(row, Kind.OUTLET, Role.FRONT).pk,
            b=site.port(row, Kind.TERMINAL, Role.TERMINAL).pk,
            length_m=site.plan.assumptions.cord_length_m,
        )
        for row, _item in wanted
    ]
    return _pks(joints.patch_all(change, new))


def _readings(change: OpenChange, site: Site, wanted: Wanted) -> list[int]:
    new = [_measured(site, row) for row, _item in wanted]
    return _pks(readings.read_all(change, new))


def _measured(site: Site, row: RowPlan) -> readings.Measured:
    entry = row.entry
    if row.item(Kind.TERMINAL):
        port = site.port(row, Kind.TERMINAL, Role.TERMINAL)
    else:
        port = site.port(row, Kind.OUTLET, Role.FRONT)
    return readings.Measured(
        point=port.pk,
        wavelength_nm=entry.wavelength_nm or site.plan.assumptions.wavelength_nm,
        level_dbm=entry.reading.level_dbm if entry.reading else None,
        note=entry.note,
    )


Builder = Callable[[OpenChange, Site, Wanted], list[int]]

_BUILDERS: dict[Kind, Builder] = {
    Kind.ESTATE: _estates,
    Kind.BUILDING: _buildings,
    Kind.FLOOR: _floors,
    Kind.FLAT: _flats,
    Kind.CUPBOARD: _cupboards,
    Kind.SPLITTER: _splitters,
    Kind.CABLE: _cables,
    Kind.OUTLET: _outlets,
    Kind.TERMINAL: _terminals,
    Kind.BOOKING: _bookings,
    Kind.SPLICE: _splices,
    Kind.CORD: _cords,
    Kind.LEG_JOINT: _leg_joints,
    Kind.READING: _readings,
}
