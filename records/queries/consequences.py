"""What a change did to homes, bookings and labels, in names: as it was before and as it is after.

Asked while the change is open or right after it. What was before is read from history, so nothing
has to be noted beforehand.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from records.models import Booking, Passage, Point, Role
from records.optics.levels import Level
from records.queries.deltas import Delta, Turn, delta
from records.queries.levels import Lit, lit_at
from records.queries.moment import as_it_stood
from records.queries.names import addresses, named_points
from records.queries.stale_tags import StaleTag, stale_tags
from records.queries.words import natural


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """The light of one channel at a terminal, with what is wrong with it either way."""

    channel: str
    down: Level
    up: Level
    faults: tuple[str, ...]
    verdicts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeShift:
    """A home terminal whose light a change shifted, lit or darkened.

    `place_id` and `point_id` are as after the change, unless the terminal is gone.
    """

    point_id: int
    place_id: int
    address: str
    terminal: str
    before: tuple[Light, ...]
    after: tuple[Light, ...]

    @property
    def goes_dark(self) -> bool:
        """Tell whether the terminal had light and has none now."""
        return bool(self.before) and not self.after

    @property
    def gets_light(self) -> bool:
        """Tell whether the terminal had no light and has some now."""
        return bool(self.after) and not self.before

    @property
    def verdicts_change(self) -> bool:
        """Tell whether other things are wrong with the light than before, or none any more."""
        return _faults(self.before) != _faults(self.after)

    @property
    def new_faults(self) -> tuple[str, ...]:
        """Return in words what is wrong with the light and was not before, with the home."""
        had = _faults(self.before)
        return tuple(
            f"{self.terminal} of {self.address}, {light.channel}: {words}"
            for light in self.after
            for fault, words in zip(light.faults, light.verdicts, strict=True)
            if (light.channel, fault) not in had
        )


def _faults(light: Iterable[Light]) -> set[tuple[str, str]]:
    return {(each.channel, fault) for each in light for fault in each.faults}


@dataclass(frozen=True, slots=True, kw_only=True)
class BookingShift:
    """A line whose leg or booking a change touched; empty where it had or has none."""

    line: str
    address: str
    leg_before: str
    state_before: str
    leg_after: str
    state_after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Consequences:
    """All that a change did beyond the plant itself."""

    homes: tuple[HomeShift, ...]
    bookings: tuple[BookingShift, ...]
    tags: tuple[StaleTag, ...]
    warnings: tuple[str, ...]


_NO_HEIRS: Mapping[int, int] = {}


def consequences(
    number: int, *, fed: Iterable[int], heirs: Mapping[int, int] = _NO_HEIRS
) -> Consequences:
    """Return what a change did; `fed` are the points whose feeds it wrote or erased.

    `heirs` names the ports of new terminals by those of old ones: to its home it is one light.
    """
    changed = delta(number)
    homes = _homes(number, set(fed), heirs)
    return Consequences(
        homes=homes,
        bookings=_bookings(number, changed),
        tags=tuple(stale_tags(number, changed)),
        warnings=(
            *(words for home in homes for words in home.new_faults),
            *_damaged_fibres(changed),
            *_readings_left(changed),
        ),
    )


@dataclass(frozen=True, slots=True)
class _Terminals:
    """Terminals at one moment: their names and light."""

    ports: dict[int, Point]
    homes: dict[int, str]
    light: dict[int, list[Lit]]

    @classmethod
    def among(cls, points: set[int]) -> "_Terminals":
        found = Point.objects.filter(pk__in=points, role=Role.TERMINAL)
        ports = {port.pk: port for port in found.select_related("equipment__place")}
        light: dict[int, list[Lit]] = {}
        for each in lit_at(ports):
            light.setdefault(each.point_id, []).append(each)
        places = {port.equipment.place for port in ports.values() if port.equipment}
        return cls(ports, addresses(places), light)

    def light_at(self, point: int) -> tuple[Light, ...]:
        return tuple(_light(each) for each in self.light.get(point, ()))


def _light(lit: Lit) -> Light:
    judged = [("down", each) for each in lit.down_verdicts]
    judged += [("up", each) for each in lit.up_verdicts]
    return Light(
        channel=lit.name,
        down=lit.level,
        up=lit.up_level,
        faults=tuple(f"{way}: {each.fault}" for way, each in judged),
        verdicts=tuple(f"{way}: {each.words}" for way, each in judged),
    )


def _homes(number: int, fed: set[int], heirs: Mapping[int, int]) -> tuple[HomeShift, ...]:
    with as_it_stood(number - 1):
        old = _Terminals.among(fed)
    new = _Terminals.among(fed | set(heirs.values()))
    shifts = []
    came_from = {heir: first for first, heir in heirs.items() if heir in new.ports}
    for point in (old.ports.keys() - came_from.values()) | new.ports.keys():
        known = new if point in new.ports else old
        equipment = known.ports[point].equipment
        before, after = old.light_at(came_from.get(point, point)), new.light_at(point)
        if before != after and equipment is not None:
            shifts.append(
                HomeShift(
                    point_id=point,
                    place_id=equipment.place_id,
                    address=known.homes[equipment.place_id],
                    terminal=equipment.name,
                    before=before,
                    after=after,
                )
            )
    return tuple(sorted(shifts, key=lambda each: natural(f"{each.address} {each.terminal}")))


def _bookings(number: int, changed: Delta) -> tuple[BookingShift, ...]:
    lines = {turn.row["line_id"] for turn in changed["booking"].values()}
    if not lines:
        return ()
    with as_it_stood(number - 1):
        before, names_before = _open_bookings(lines)
    after, names_after = _open_bookings(lines)
    known = {**before, **after}
    homes = addresses({each.line.place for each in known.values()})
    shifts = []
    for line, latest in known.items():
        old, new = before.get(line), after.get(line)
        if (old and (old.leg_id, old.state)) != (new and (new.leg_id, new.state)):
            shifts.append(
                BookingShift(
                    line=latest.line.identifier,
                    address=homes[latest.line.place_id],
                    leg_before=names_before[old.leg_id] if old else "",
                    state_before=old.state if old else "",
                    leg_after=names_after[new.leg_id] if new else "",
                    state_after=new.state if new else "",
                )
            )
    return tuple(sorted(shifts, key=lambda each: each.line))


def _open_bookings(lines: set[int]) -> tuple[dict[int, Booking], dict[int, str]]:
    found = Booking.objects.open().filter(line__in=lines).select_related("line__place")
    by_line = {each.line_id: each for each in found}
    return by_line, named_points(each.leg_id for each in by_line.values())


def _damaged_fibres(changed: Delta) -> Iterable[str]:
    ends = [key for key, turn in changed["jointend"].items() if turn.before is None]
    if not ends:
        return
    damaged = Passage.objects.filter(~Q(damage=""), points__in=ends).select_related("cable")
    for fibre in damaged.distinct().order_by("cable__name", "number"):
        yield f"Fibre {fibre.number} of {fibre.cable} is marked as damaged: {fibre.damage}"


def _readings_left(changed: Delta) -> Iterable[str]:
    gone = _ended(changed["reading"].values(), changed["point"])
    if gone:
        were = "reading was" if gone == 1 else "readings were"
        yield f"{gone} {were} taken at points that are removed; only history keeps them"


def _ended(readings: Iterable[Turn], points: dict[Any, Turn]) -> int:
    return sum(
        1
        for turn in readings
        if turn.before and turn.after is None and turn.before["point_id"] in points
    )


def named_homes(
    number: int, terminals: Iterable[int], *, heirs: Mapping[int, int] = _NO_HEIRS
) -> dict[int, str]:
    """Return what terminals are called, also those that change `number` took away or brought.

    One that was swapped goes by its heir's name, unless that one is gone again too.
    """
    wanted = set(terminals)
    if not wanted:
        return {}
    with as_it_stood(number - 1):
        old = _home_names(wanted)
    heir_of = {each: heirs.get(each, each) for each in wanted}
    new = _home_names(set(heir_of.values()))
    by_heir = {each: new[heir] for each, heir in heir_of.items() if heir in new}
    return dict.fromkeys(wanted, "a terminal put in and taken away") | old | by_heir


def _home_names(terminals: set[int]) -> dict[int, str]:
    found = Point.objects.filter(pk__in=terminals).select_related("equipment__place")
    ports = {port.pk: port.equipment for port in found if port.equipment}
    homes = addresses({equipment.place for equipment in ports.values()})
    return {pk: f"{each.name} of {homes[each.place_id]}" for pk, each in ports.items()}
