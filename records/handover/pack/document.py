"""Put the pack of a place together: cover, contents, and each section that tells something."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

from reportlab.platypus import Flowable, PageBreak

from labels.owner import rules
from labels.paper import paper_of
from records.changes.refusals import Malformed
from records.handover.file_names import file_name
from records.handover.one_moment import one_moment
from records.handover.pack import (
    boxes,
    cables,
    cover,
    deviations,
    figures_used,
    homes,
    legs,
    trees,
    ways,
)
from records.handover.pack.names import PackNames
from records.handover.pack.pages import Contents, Heading, Marks, printed
from records.handover.pack.told import Asked, Told
from records.models import Place
from records.queries.as_built import AsBuilt, as_built, home_count
from records.queries.words import counted

HOMES_MAX: Final = 600
"""Homes up to which a pack is made: as many pages as one can still leaf through."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """A pack as a file."""

    name: str
    content: bytes


class _Section(NamedTuple):
    key: str
    title: str
    about: str
    told_by: Callable[[Told], Iterator[Flowable]]


_SECTIONS: Final = (
    _Section("homes", "Homes", homes.ABOUT, homes.section),
    _Section("legs", "Splitters and legs", legs.ABOUT, legs.section),
    _Section("boxes", "Panels and closures", boxes.ABOUT, boxes.section),
    _Section("cables", "Cables and fibres", cables.ABOUT, cables.section),
    _Section("trees", "Feeder trees", trees.ABOUT, trees.section),
    _Section("ways", "Light at each home", ways.ABOUT, ways.section),
    _Section("figures", "Figures used", figures_used.ABOUT, figures_used.section),
    _Section("deviations", "Deviations", deviations.ABOUT, deviations.section),
)


def as_built_pack(place: Place, asked: Asked) -> Pack:
    """Return the pack of a place as it stands at the moment asked for.

    The same change and the same form give the same bytes. What is recorded while it is read stays
    out. Raises: Malformed for a place of too many homes.
    """
    with one_moment():
        _refuse_too_large(place)
        return _told(as_built(place, since=asked.since), asked)


def _told(built: AsBuilt, asked: Asked) -> Pack:
    place = built.place
    names = PackNames(built, has_addresses=asked.has_addresses)
    marks = Marks(left="", right="", foot="")
    told = Told(built=built, names=names, marks=marks, asked=asked)
    title = f"{cover.TITLE}: {names.place(place)}"
    marks.left, marks.right = title, cover.moment(told)
    form = "With addresses" if asked.has_addresses else "Without addresses"
    marks.foot = f"{form}. Treat every fibre as live; never look into a fibre or port."
    return Pack(
        name=file_name(place, "as-built", "pdf", has_addresses=asked.has_addresses),
        content=printed(list(_flowables(told)), marks, title, paper_of(rules().language)),
    )


def _refuse_too_large(place: Place) -> None:
    count = home_count(place)
    if count > HOMES_MAX:
        raise Malformed(
            f"{place} holds {counted(count, 'home')}; a pack holds at most {HOMES_MAX}.",
            hint="Ask for the pack of each building in it.",
            field="place",
        )


def _flowables(told: Told) -> Iterator[Flowable]:
    sections = [(each, list(each.told_by(told))) for each in _SECTIONS]
    present = [(section, flowables) for section, flowables in sections if flowables]
    yield from cover.cover(told)
    yield PageBreak()
    yield Heading("Contents", told.marks, level=0)
    yield Contents((each.key, each.title, each.about) for each, _ in present)
    for section, flowables in present:
        yield PageBreak()
        yield Heading(section.title, told.marks, level=0, key=section.key)
        yield from flowables
