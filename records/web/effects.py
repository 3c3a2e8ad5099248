"""What a change does, in words and names: before it is made, and after."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from records.changes import OpenChange
from records.changes.previews import consequences_of
from records.models import Point
from records.queries.consequences import HomeShift
from records.queries.levels import Lit, lit_at
from records.queries.names import addresses, short_name
from records.queries.words import natural


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """A home terminal that a change touches, and the light it has then."""

    address: str
    terminal: str
    light: tuple[Lit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a change does: in words, to homes, to bookings, to expected levels elsewhere.

    Homes `on_standby` or `kept_lit` lose a channel, and its standby or another lights them. Those
    `interrupted` are dark only while it is done. Those `worse` keep their light at other levels,
    with something wrong that was not before.
    """

    words: tuple[str, ...]
    lit: tuple[Home, ...]
    dark: tuple[Home, ...]
    on_standby: tuple[Home, ...]
    kept_lit: tuple[Home, ...]
    interrupted: tuple[Home, ...]
    worse: tuple[HomeShift, ...]
    bookings: tuple[str, ...]
    warnings: tuple[str, ...]
    terminals_removed: int
    levels_written: int

    @property
    def touches_no_home(self) -> bool:
        """Tell whether no home gets or loses light."""
        turned = (self.lit, self.dark, self.on_standby, self.kept_lit, self.interrupted)
        return not any(turned)


def effect_of(change: OpenChange) -> Effect:
    """Return what an open change has done so far. Call it before the change is closed."""
    told = change.effect()
    dark = _homes(told["terminals_darkened"])
    sum_of = consequences_of(change)
    by_home = {words for home in sum_of.homes for words in home.new_faults}
    return Effect(
        words=tuple(step["words"] for step in told["steps"] if step["words"]),
        lit=_homes(told["terminals_lit"]),
        dark=dark,
        on_standby=_homes(told["terminals_on_standby"]),
        kept_lit=_homes(told["terminals_kept_lit"]),
        interrupted=_homes(told["terminals_interrupted"]),
        terminals_removed=len(told["terminals_darkened"]) - len(dark),
        bookings=tuple(_bookings(_beside_the_words(told))),
        worse=tuple(home for home in sum_of.homes if home.new_faults and not home.gets_light),
        warnings=tuple(words for words in sum_of.warnings if words not in by_home),
        levels_written=told["feeds_written"],
    )


def _homes(terminals: Iterable[int]) -> tuple[Home, ...]:
    ports = list(Point.objects.filter(pk__in=list(terminals)).select_related("equipment__place"))
    light: dict[int, list[Lit]] = {}
    for each in lit_at(port.pk for port in ports):
        light.setdefault(each.point_id, []).append(each)
    places = addresses({port.equipment.place for port in ports if port.equipment})
    homes = [
        Home(
            address=places[port.equipment.place_id],
            terminal=port.equipment.name,
            light=tuple(light.get(port.pk, ())),
        )
        for port in ports
        if port.equipment
    ]
    return tuple(sorted(homes, key=lambda home: natural(home.address)))


_SAID = {"bookings.book": "booked", "bookings.release": "released"}
"""What the words of a verb say of its booking already."""


def _beside_the_words(told: dict[str, Any]) -> list[dict[str, Any]]:
    said = {_SAID.get(step["verb"]) for step in told["steps"]}
    return [each for each in told["bookings"] if each["what"] not in said]


_BECAME = {
    "held": ("is held, no longer live", "are held, no longer live"),
    "live": ("is live now", "are live now"),
}


MANY = 6
"""Bookings of which the same is told in sum, not one by one."""


def _bookings(told: list[dict[str, Any]]) -> Iterable[str]:
    legs = Point.objects.select_related("equipment").in_bulk([each["leg"] for each in told])
    turned: dict[str, list[str]] = {}
    lines: dict[str, list[str]] = {}
    for each in told:
        leg = legs.get(each["leg"])  # None where the change takes the splitter away as well
        name = short_name(leg) if leg else "a leg that is removed"
        if "line" in each:
            kind = each["what"].partition(" from ")[0]
            said = f"{name}: {each['what']}, line {each['line']}"
            lines.setdefault(kind, []).append(said)
        elif leg:
            turned.setdefault(each["what"], []).append(name)
    for what, words in lines.items():
        yield from words if len(words) < MANY else [f"{len(words)} bookings are {what}"]
    for what, names in turned.items():
        one, many = _BECAME[what]
        yield f"{names[0]} {one}" if len(names) == 1 else f"{len(names)} legs {many}"
