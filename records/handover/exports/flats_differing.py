"""Where the plant of a sheet differs from what taking the sheet in would build."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from records.handover.exports.flats_types import types_of
from records.handover.exports.home_wiring import Drop, Patch, Wiring
from records.handover.exports.left_out import Said
from records.handover.exports.names import ExportNames
from records.handover.exports.tables import CM_PER_M
from records.models import (
    FIBRE_ENDS,
    Cable,
    EntryKind,
    Equipment,
    JointKind,
    Passage,
    Place,
    PlaceKind,
    Polish,
    Role,
)
from records.queries.names import floor_name
from records.queries.plant_inside import PlantInside, ports_by

_BARE_NUMBER = re.compile(r"\d{1,5}[A-Za-z]?|[A-Za-z]\d{0,4}")
"""What taking in reads as the number of a flat."""


class Differing:
    """Holds the plant of a sheet against what the sheet says."""

    def __init__(
        self, plant: PlantInside, names: ExportNames, assumed: Mapping[str, str | float]
    ) -> None:
        """Sort the plant by what belongs together."""
        self._plant, self._names, self._assumed = plant, names, assumed
        roles = (Role.INPUT, Role.LEG, Role.BACK)
        self._ports = ports_by(plant, lambda each: each.equipment_id, roles)
        cable_of = {fibre.pk: fibre.cable_id for fibre in plant.fibres.values()}
        self._ends = ports_by(plant, lambda each: cable_of.get(each.passage_id or 0), FIBRE_ENDS)
        self._fibres: dict[int, list[Passage]] = {}
        for fibre in plant.fibres.values():
            self._fibres.setdefault(fibre.cable_id or 0, []).append(fibre)

    def said(self, wirings: Sequence[Wiring]) -> Iterator[Said]:
        """Yield what is built otherwise than the sheet and its types say."""
        for wiring in wirings:
            yield from self._types(wiring)
            yield from self._place(wiring.home)
            if wiring.drop is not None and wiring.outlet is not None:
                yield from self._outlet(wiring.outlet, wiring.drop)
            if wiring.patch is not None:
                yield from self._patch(wiring.patch)
        legs = (each.leg for each in wirings if each.leg)
        used = {owner.pk: owner for leg in legs if (owner := self._plant.owner(leg))}
        for splitter in used.values():
            yield from self._splitter(splitter)
        with_drops = [(each, each.drop) for each in wirings if each.drop]
        by_cable = sorted(with_drops, key=lambda pair: pair[1].cable.pk)
        for _, group in groupby(by_cable, key=lambda pair: pair[1].cable.pk):
            yield from self._cable(list(group))

    def _types(self, wiring: Wiring) -> Iterator[Said]:
        for name, value in types_of(wiring, self._names).items():
            if value != self._assumed[name]:
                shown = f"{value:g} m" if isinstance(value, float) else value or "none"
                label = name.removesuffix("_m").replace("_", " ")
                home = self._names.home(wiring.home)
                yield "types other than the commonest", f"{home}: {label} {shown}"

    def _place(self, home: Place) -> Iterator[Said]:
        name, floor = self._names.home(home), self._plant.nearest(home, PlaceKind.FLOOR)
        if _BARE_NUMBER.fullmatch(name):
            yield "homes called by a number alone, which become 'Flat' and the number", name
        if floor is None:
            return
        if floor.storey is None:
            yield (
                "floors without a number, whose names may be read as one",
                self._names.place(floor),
            )
        elif floor.name != floor_name(floor.storey):
            yield "floors with a name of their own", self._names.place(floor)

    def _outlet(self, outlet: Equipment, drop: Drop) -> Iterator[Said]:
        name = self._named(outlet)
        backs = [each for each in self._ports[outlet.pk] if each.role == Role.BACK]
        if len(backs) > 1 or outlet.serial:
            yield "outlets with more adapters, or a serial", name
        if any(each.polish for each in backs):
            yield "outlets with connectors at the back", name
        splice, joint = drop.splice, drop.leg_joint
        is_usual = splice.kind != JointKind.MATED and splice.stands_in_id == outlet.pk
        if not is_usual or splice.entry != self._assumed.get("splice"):
            yield "joints at outlets, made otherwise", f"{name}: {splice.entry}"
        if joint is not None and drop.leg is not None:
            usual = self._assumed.get("mated" if drop.leg.polish else "splice")
            if joint.entry != usual or joint.stands_in_id is not None:
                where = self._names.point(drop.leg.pk)
                yield "joints at legs, made otherwise", f"{where}: {joint.entry}"

    def _patch(self, patch: Patch) -> Iterator[Said]:
        if patch.port.polish != self._assumed.get("outlet_polish"):
            yield "home terminals with another connector", self._named(patch.terminal)
        if patch.cord.fibre_count > 1:
            home = self._names.place(patch.terminal.place)
            yield "patch cords of two fibres", f"{self._names.cable(patch.cord)} ({home})"

    def _splitter(self, splitter: Equipment) -> Iterator[Said]:
        name = self._named(splitter)
        if splitter.entry is None or splitter.entry.kind != EntryKind.SPLITTER:
            yield "taps, of which the sheet has no ratio", name
        polishes = {each.polish for each in self._ports.get(splitter.pk, ())}
        if polishes - {self._assumed["splitter_polish"]}:
            yield "splitters with other connectors", name
        if splitter.serial:
            yield "serials of splitters", f"{name}: {splitter.serial}"
        if splitter.pk not in self._plant.equipment:
            yield "splitters outside, set up in the building where a record has none", name
        elif splitter.place.kind != PlaceKind.CUPBOARD:
            yield "splitters in no riser cupboard, which are set up in one", name
        else:
            yield from self._cupboard(splitter.place_id)

    def _named(self, equipment: Equipment) -> str:
        return f"{self._names.equipment(equipment)} ({self._names.place(equipment.place)})"

    def _cupboard(self, place_id: int) -> Iterator[Said]:
        cupboard = self._plant.places.get(place_id)
        building = self._plant.nearest(cupboard, PlaceKind.BUILDING) if cupboard else None
        if cupboard and building and cupboard.path[: -Place.steplen] != building.path:
            where = self._names.place(cupboard)
            yield "cupboards on a floor, put right into the building", where

    def _cable(self, users: Sequence[tuple[Wiring, Drop]]) -> Iterator[Said]:
        cable = users[0][1].cable
        yield from self._lengths(cable, [drop.fibre for _, drop in users])
        yield from self._cupboard(cable.a_place_id)
        if self._far_place([wiring.home for wiring, _ in users]) != cable.b_place_id:
            where = self._names.place(cable.b_place)
            yield "cables that end elsewhere", f"{self._names.cable(cable)} (ends at {where})"
        if cable.diameter_mm is not None:
            yield "diameters of cables", self._names.cable(cable)
        leg = users[0][0].leg
        near = leg.polish if leg else self._assumed.get("splitter_polish", Polish.APC)
        usual = {Role.A_END: near, Role.B_END: ""}
        if any(end.polish != usual[Role(end.role)] for end in self._ends[cable.pk]):
            yield "cables with other connectors", self._names.cable(cable)

    def _lengths(self, cable: Cable, used: Sequence[Passage]) -> Iterator[Said]:
        """Yield a cable not as long as its longest fibre in the sheet, and spare fibres' own."""
        longest_cm = max(each.length_cm for each in used)
        if cable.length_cm != longest_cm:
            yield (
                "lengths of cables",
                f"{self._names.cable(cable)}: {cable.length_cm / CM_PER_M:g} m",
            )
        known = {each.pk for each in used}
        for fibre in self._fibres[cable.pk]:
            if fibre.pk not in known and fibre.length_cm != longest_cm:
                name = f"fibre {fibre.number} of {self._names.cable(cable)}"
                yield "lengths of spare fibres", f"{name}: {fibre.length_cm / CM_PER_M:g} m"

    def _far_place(self, homes: Sequence[Place]) -> int | None:
        """Return where taking in ends a cable: the nearest place that is around all its homes."""
        if len(homes) == 1:
            return int(homes[0].pk)
        for kind in (PlaceKind.FLOOR, PlaceKind.BUILDING):
            found = [self._plant.nearest(each, kind) for each in homes]
            first = found[0]
            if first is not None and all(each == first for each in found):
                return int(first.pk)
        return None
