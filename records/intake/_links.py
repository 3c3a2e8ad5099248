"""The joints and readings of a sheet: which are there, which are new, which clash."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from records.intake._cables import Cables
from records.intake._chunks import chunked
from records.intake._faults import Findings
from records.intake._fittings import Fittings
from records.intake._joined import Mate, mates, past_cords
from records.intake._plan import Draft, Item, Kind
from records.intake._splitters import Splitters
from records.models import Direction, Point, Reading, Role
from records.queries.names import named_points


class _End(NamedTuple):
    """One point of a joint: whose it is, what it is called, its column, and the point if known."""

    item: Item
    words: str
    column: str
    point: Point | None


class Links:
    """The joints and readings at those points of a sheet that the record has."""

    def __init__(
        self, drafts: Iterable[Draft], splitters: Splitters, cables: Cables, fittings: Fittings
    ) -> None:
        """Read them."""
        self._splitters, self._cables, self._fittings = splitters, cables, fittings
        listed = list(drafts)
        ports = [each.pk for each in fittings.ports.values()]
        joints = [joint for draft in listed for joint in self._joints(draft)]
        points = {end.point.pk for _, *ends in joints for end in ends if end.point}
        self._mates = mates(points)
        self._past_cords = past_cords(mate.point for mate in self._mates.values())
        self._names = named_points(self._clashing(joints))
        down = Reading.objects.filter(direction=Direction.DOWN)
        self._readings = {
            (each.point_id, each.wavelength_nm, each.level_mdbm): each.pk
            for each in chunked(down, "point__in", ports)
        }

    def _joints(self, draft: Draft) -> Iterator[tuple[Kind, _End, _End]]:
        """Yield the joints that a row asks for, with their two ends."""
        splitter, cable = draft.items.get(Kind.SPLITTER), draft.items.get(Kind.CABLE)
        outlet, terminal = draft.items.get(Kind.OUTLET), draft.items.get(Kind.TERMINAL)
        leg, fibre = draft.entry.leg, draft.entry.fibre
        if cable and fibre and outlet:
            end = self._cables.end(draft, Role.B_END)
            back = self._fittings.port(draft, Kind.OUTLET, Role.BACK)
            yield (
                Kind.SPLICE,
                _End(cable, f"The far end of fibre {fibre} of {cable.name}", "fibre", end),
                _End(outlet, f"The back of {outlet.name}", "outlet", back),
            )
        if outlet and terminal:
            front = self._fittings.port(draft, Kind.OUTLET, Role.FRONT)
            port = self._fittings.port(draft, Kind.TERMINAL, Role.TERMINAL)
            yield (
                Kind.CORD,
                _End(outlet, f"The front of {outlet.name}", "outlet", front),
                _End(terminal, f"Home terminal {terminal.name}", "serial", port),
            )
        if splitter and leg and cable and fibre:
            end = self._cables.end(draft, Role.A_END)
            yield (
                Kind.LEG_JOINT,
                _End(
                    splitter,
                    f"Leg {leg} of {draft.entry.splitter}",
                    "leg",
                    self._splitters.leg(draft),
                ),
                _End(cable, f"The near end of fibre {fibre} of {cable.name}", "fibre", end),
            )

    def _clashing(self, joints: Iterable[tuple[Kind, _End, _End]]) -> set[int]:
        """Return the points to name: those joined to something else than the sheet says."""
        return {
            mate.point
            for _, near, far in joints
            if self._joint(near, far) is None
            for end in (near, far)
            for mate in [self._mate(end)]
            if mate
        }

    def _mate(self, end: _End) -> Mate | None:
        return self._mates.get(end.point.pk) if end.point else None

    def _joint(self, near: _End, far: _End) -> int | None:
        """Return the joint that makes two ends one, by a cord or directly."""
        mate = self._mate(near)
        if mate is None or far.point is None:
            return None
        return (
            mate.joint if far.point.pk in {mate.point, self._past_cords.get(mate.point)} else None
        )

    def find(self, draft: Draft, findings: Findings) -> None:
        """Put the joints of a row in, and note those that clash."""
        for kind, near, far in self._joints(draft):
            joint = self._joint(near, far)
            clash = next((e for e in (near, far) if self._mate(e)), None) if not joint else None
            if clash is None:
                key = (kind.value, *near.item.key, *far.item.key, draft.entry.fibre or 0)
                name = f"{near.words} to {far.words[0].lower()}{far.words[1:]}"
                draft.add(Item(kind, key, name, joint))
            else:
                self._note_clash(draft, clash, findings)

    def _note_clash(self, draft: Draft, clash: _End, findings: Findings) -> None:
        mate = self._mate(clash)
        if mate is not None:
            findings.fault(
                draft.entry.row,
                clash.column,
                _cell(draft, clash.column),
                f"{clash.words} is joined to {self._names[mate.point]}.",
                allowed="What the record says; or part that joint first.",
            )

    def find_reading(self, draft: Draft, assumed_nm: int) -> None:
        """Put the reading of a row in: at the home terminal, else at the outlet."""
        level, is_at_terminal = draft.entry.reading, bool(draft.entry.serial)
        kind = Kind.TERMINAL if is_at_terminal else Kind.OUTLET
        at = draft.items.get(kind)
        if level is None or at is None:
            return
        wavelength_nm = draft.entry.wavelength_nm or assumed_nm
        role = Role.TERMINAL if is_at_terminal else Role.FRONT
        point = self._fittings.port(draft, kind, role)
        level_mdbm = None if level.level_dbm is None else round(level.level_dbm * 1000)
        known = self._readings.get((point.pk, wavelength_nm, level_mdbm)) if point else None
        key = ("reading", *at.key, wavelength_nm)
        draft.add(Item(Kind.READING, key, f"{level} at {wavelength_nm} nm", known))


def _cell(draft: Draft, column: str) -> object:
    return getattr(draft.entry, column)
