"""How things are shown on pages: filters and tags of the templates.

A template gets them without loading them (see TEMPLATES in settings.py). How figures are rounded
and get their units is written in records/handover/figures.py.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from records.handover.figures import NBSP, db, dbm, metres, minus, number, signed_db
from records.models import FIBRE_ENDS, Change, Point
from records.models.tag_code import grouped
from records.optics.losses import Loss
from records.queries.causes import Suspect
from records.queries.changes import steps_of
from records.queries.explain import Term
from records.queries.history import FieldChange
from records.queries.levels import Lit
from records.queries.names import entry_name, port_label
from records.queries.paths import Hop, Spot
from records.queries.readings import Judged
from records.web import links
from records.web.marks import drawn

register = template.Library()

for named_so in (number, dbm, db, signed_db, metres, minus, entry_name):
    register.filter(named_so)

MDB_PER_DB = 1000
CM_PER_M = 100

STEPS_SHOWN = 3

_BEFORE_NUMBER = re.compile(r" (?=\d)")


@register.filter
def moment(at: datetime) -> SafeString:
    """Return a moment to the minute, in UTC and said to be."""
    utc = at.astimezone(UTC)
    return format_html(
        '<time datetime="{}">{} UTC</time>',
        utc.isoformat("T", "seconds"),
        f"{utc:%d %b %Y, %H:%M}",
    )


@register.filter
def code(tag_code: str) -> str:
    """Return a tag code in two groups."""
    return grouped(tag_code)


@register.simple_tag
def url_of(noun: str, thing_id: int) -> str:
    """Return the address of a thing's page."""
    return links.url_of(noun, thing_id)


@register.simple_tag
def do(verb: str, **fields: object) -> str:
    """Return the address of a verb's form with fields filled in."""
    return links.do_url(verb, **fields)


@register.simple_tag
def mark(word: str) -> SafeString:
    """Return the shape that stands beside a word."""
    return drawn(word)


@register.filter
def from_mdb(value_mdb: int) -> str:
    """Return stored millidecibels as a loss."""
    return db(value_mdb / MDB_PER_DB)


@register.filter
def named(name: str) -> SafeString:
    """Return a thing's name with the place in brackets set back."""
    own, bracket, where = name.partition(" (")
    if not bracket:
        return format_html("{}", name)
    return format_html('{} <span class="quiet">({}</span>', own, where)


@register.filter
def flat_first(name: str) -> SafeString:
    """Return a point's name with where it is in front, and what it is set back."""
    own, bracket, where = name.partition(" (")
    if not bracket:
        return format_html("{}", name)
    return format_html(
        '<strong>{}</strong> <span class="quiet">{}</span>', where.removesuffix(")"), own
    )


@register.filter
def check_of(suspect: Suspect) -> SafeString:
    """Return what to check on a suspect, with its name leading to it."""
    before, name, after = suspect.check.partition(suspect.name)
    url = links.url_of("point", suspect.point_id)
    return format_html('{}<a href="{}">{}</a>{}', before, url, named(name), after)


@register.filter
def beyond(address: str, shared: str) -> str:
    """Return an address without the beginning that all on the page share."""
    return address.removeprefix(shared)


@register.filter
def own_name(name: str) -> str:
    """Return a thing's name without the place in brackets, for a page that says the place.

    A number stays on the line of its noun.
    """
    return _BEFORE_NUMBER.sub(NBSP, name.partition(" (")[0])


@register.filter
def hop_loss(hop: Hop) -> SafeString:
    """Return the loss of a hop: typical, and from least to most where they differ.

    A plug's loss is counted at its adapter, so a hop without any loss says so.
    """
    if hop.is_measured:
        return format_html("measured {}", db(hop.loss.typical_db))
    if not hop.loss.most_db:
        return format_html("{}", "no loss of its own")
    return in_full(hop.loss)


@register.filter("loss")
def in_full(loss: Loss) -> SafeString:
    """Return a loss: typical, and from least to most where they differ."""
    least, most = number(loss.least_db), number(loss.most_db)
    if least == most:
        return format_html("{}", db(loss.typical_db))
    return format_html(
        '{} <span class="quiet">{}\N{HORIZONTAL ELLIPSIS}{}</span>',
        db(loss.typical_db),
        least,
        most,
    )


@register.filter
def spot_label(point: Point) -> str:
    """Return what a point is called beside its equipment, or beside its fibre."""
    return str(point.role) if point.role in FIBRE_ENDS else port_label(point)


@register.filter
def at_point(by_point: Mapping[int, Judged] | str, point_id: int) -> Judged | None:
    """Return the reading at a point; none where a page brings no readings (then it is blank)."""
    return None if isinstance(by_point, str) else by_point.get(point_id)


@register.filter
def spot_of_hop(hop: Hop) -> str:
    """Return what a point is called beside its equipment, or beside its fibre."""
    return hop.spot.role if hop.spot.cable_id is not None else own_name(hop.spot.label)


@register.filter
def main_light(lit: tuple[Lit, ...]) -> tuple[Lit, ...]:
    """Return the light that isn't a standby's; all where there is no other."""
    return tuple(each for each in lit if not each.is_standby) or lit


@register.filter
def through(hop: Hop) -> str:
    """Return what light came through to a hop."""
    if hop.by_kind == "fibre":
        return f"{metres(hop.length_m)} of {hop.by}"
    if hop.by_kind == "splitter":
        return f"splitter {hop.by}"
    return hop.by


@register.filter
def through_term(term: Term) -> str:
    """Return what one term of a level is lost in."""
    if term.by_kind == "fibre":
        return f"{metres(term.length_m)} of {term.by}"
    return f"splitter {term.by}" if term.by_kind == "splitter" else term.by


@register.filter
def spot_name(spot: Spot) -> str:
    """Return what a point on a path is called beside its owner."""
    label = spot.role if spot.cable_id is not None else own_name(spot.label)
    return f"{label} of {spot.owner}"


@register.filter
def percent(share: float, places: int = 0) -> str:
    """Return a share as a percentage."""
    return f"{number(share * 100, places)}{NBSP}%"


@register.filter
def per_thousand(value_mdb: int) -> str:
    """Return stored millidecibels as a bare number of decibels."""
    return number(value_mdb / MDB_PER_DB, 3).rstrip("0").rstrip(".")


@register.filter
def faults(lit: Lit) -> str:
    """Return the names of all that is wrong with the light of a terminal, both ways."""
    down = [str(verdict.fault) for verdict in lit.down_verdicts]
    up = [f"{verdict.fault} at the OLT" for verdict in lit.up_verdicts]
    return ", ".join(dict.fromkeys(down + up))


@register.filter
def steps(change: Change) -> tuple[str, ...]:
    """Return in words the first steps of a change."""
    return tuple(minus(step) for step in steps_of(change)[:STEPS_SHOWN])


@register.filter
def more_steps(change: Change) -> int:
    """Return how many steps of a change are not shown."""
    return max(0, len(steps_of(change)) - STEPS_SHOWN)


@register.filter
def sentence(words: str) -> str:
    """Return words as a sentence."""
    return minus(f"{words[:1].upper()}{words[1:]}.") if words else ""


@register.filter
def reason_of(exception: object) -> str:
    """Return why a page isn't there, where the page itself said so; nothing for the router's."""
    words = str(exception)
    return words if words.startswith("There ") else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownField:
    """One altered field in words."""

    label: str
    before: str
    after: str


_BY_UNIT: dict[str, Callable[[int], str]] = {
    "cm": lambda value: metres(value / CM_PER_M),
    "mdb": lambda value: db(value / MDB_PER_DB),
    "mdbm": lambda value: dbm(value / MDB_PER_DB),
}


@register.filter
def shown_fields(changed: tuple[FieldChange, ...]) -> list[ShownField]:
    """Return altered fields with their values as people read them."""
    return [_shown_field(each) for each in changed]


def _shown_field(each: FieldChange) -> ShownField:
    label, _, unit = each.field.rpartition(" ")
    if unit not in _BY_UNIT:
        label, unit = each.field, ""
    before, after = (_shown_value(value, unit) for value in (each.before, each.after))
    return ShownField(label=label, before=before, after=after)


def _shown_value(value: object, unit: str) -> str:
    if value is None or value == "":
        return "nothing"
    if unit and isinstance(value, int):
        return _BY_UNIT[unit](value)
    return str(value)
