"""From what is supposed to a piece of plant that light can be spread through."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from records.light.losses import Entry
from records.light.plant import INPUT, LEG, Piece
from records.light.spread import Channel
from records.light.what_if import bridge, in_a_row
from records.models import CatalogueEntry, EntryKind, Passage
from records.models import OpticalClass as ClassRow
from records.optics.bands import middle_nm
from records.optics.classes import OpticalClass
from records.queries.catalogue import default_entry, entries, light_channels
from records.queries.engine import ids, in_ids, rows
from records.queries.levels import Lit, optical_class
from records.queries.lit_piece import LitPiece
from records.queries.receivers import receivers_from

DIVIDING = frozenset({EntryKind.SPLITTER, EntryKind.TAP})


class NotSupposable(NamedTuple):
    """What of a supposition can't be, by its field, and what to do about it."""

    field: str
    message: str
    hint: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposition:
    """What is supposed, all as ids; empty is the record as it stands.

    `instead_of` limits a class to the channels that are of this one now. `splitters` gives some
    splitters another entry; `pattern` gives every way these entries for its splitters, one after
    the other, each mated to the next. An attenuator is supposed on the way to each home.
    """

    optical_class: int | None = None
    instead_of: int | None = None
    splitters: Mapping[int, int] = field(default_factory=dict)
    pattern: Sequence[int] = ()
    attenuator: int | None = None

    def faults(self) -> Iterator[NotSupposable]:
        """Yield what can't be supposed, with two queries at most."""
        yield from self._faults_of_classes()
        wanted = [("attenuator", EntryKind.ATTENUATOR, self.attenuator)]
        wanted += [("pattern", EntryKind.SPLITTER, each) for each in self.pattern]
        wanted += [("splitter", EntryKind.SPLITTER, each) for each in self.splitters.values()]
        named = {entry for _field, _kind, entry in wanted if entry is not None}
        known = _kinds(named) if named else {}
        for name, kind, entry in wanted:
            if entry is not None and known.get(entry) != kind:
                message = f"There is no {kind} number {entry} in the catalogue."
                yield NotSupposable(name, message, "Choose one that is there.")

    def _faults_of_classes(self) -> Iterator[NotSupposable]:
        named = {"optical_class": self.optical_class, "instead_of": self.instead_of}
        given = {name: pk for name, pk in named.items() if pk is not None}
        known = ClassRow.objects.in_bulk(given.values()) if given else {}
        for name, pk in given.items():
            if pk not in known:
                message = f"There is no optical class number {pk}."
                yield NotSupposable(name, message, "Choose one that is there.")
        if "instead_of" in given and "optical_class" not in given:
            message = "No class is given to take its place."
            yield NotSupposable("optical_class", message, "Choose one too.")


def _kinds(named: Iterable[int]) -> dict[int, str]:
    found = CatalogueEntry.objects.filter(pk__in=named)
    return dict(found.values_list("pk", "kind"))


class Scene(NamedTuple):
    """A supposition made ready: channels and their new classes, the plant, what it cuts off.

    `legs` is how many homes the pattern can serve, None without one.
    """

    channels: dict[int, Channel]
    classes: dict[int, OpticalClass]
    piece: Piece
    attenuator: Entry | None
    cut_off: frozenset[int]
    legs: int | None


def scene(plant: LitPiece, now: Iterable[Lit], supposing: Supposition) -> Scene:
    """Return a supposition made ready, with a fixed number of queries."""
    classes = _classes(now, supposing)
    channels = {
        number: _under(channel, classes.get(number))
        for number, channel in light_channels(plant.channels).items()
    }
    instead = _replaced(plant, supposing)
    legs = None
    if supposing.pattern:
        row = _pattern(supposing.pattern, channels.values())
        instead |= _in_pattern(plant, row, bridge(_wavelengths(channels.values())))
        legs = row.outputs
    lost = _lost_legs(plant, instead) if not supposing.pattern else []
    return Scene(
        channels=channels,
        classes=classes,
        piece=plant.piece(instead),
        attenuator=_entry(supposing.attenuator) if supposing.attenuator else None,
        cut_off=frozenset(each.point_id for each in receivers_from(lost)) if lost else frozenset(),
        legs=legs,
    )


def _entry(entry_id: int) -> Entry:
    return entries([entry_id])[entry_id]


def _classes(now: Iterable[Lit], supposing: Supposition) -> dict[int, OpticalClass]:
    """Return the class supposed for each channel that it is supposed for."""
    if supposing.optical_class is None:
        return {}
    wanted = optical_class(supposing.optical_class)
    replaced = optical_class(supposing.instead_of) if supposing.instead_of else None
    return {each.channel_id: wanted for each in now if replaced in {None, each.optical_class}}


def _under(channel: Channel, supposed: OpticalClass | None) -> Channel:
    if supposed is None:
        return channel
    return channel._replace(down_nm=middle_nm(supposed.down), up_nm=middle_nm(supposed.up))


def _wavelengths(channels: Iterable[Channel]) -> list[int]:
    return [nm for channel in channels for nm in (channel.down_nm, channel.up_nm)]


def _replaced(plant: LitPiece, supposing: Supposition) -> dict[int, Entry]:
    """Return the entries supposed in single splitters, by passage."""
    if not supposing.splitters:
        return {}
    found = Passage.objects.filter(equipment__in=supposing.splitters, pk__in=plant.passages)
    return {
        passage: _entry(supposing.splitters[equipment])
        for passage, equipment in found.values_list("pk", "equipment")
    }


def _pattern(pattern: Sequence[int], channels: Iterable[Channel]) -> Entry:
    pair = _entry(default_entry(EntryKind.MATED).pk)
    return in_a_row([_entry(each) for each in pattern], pair, _wavelengths(channels))


def _in_pattern(plant: LitPiece, row: Entry, gone: Entry) -> dict[int, Entry]:
    """Return the whole pattern in the first splitter of each way, and nothing in those below."""
    known = entries(each.entry for each in plant.passages.values())
    splitters = {n for n, each in plant.passages.items() if known[each.entry].kind in DIVIDING}
    inputs = [
        spot.id
        for spot in plant.spots.values()
        if spot.role == INPUT and spot.passage in splitters
    ]
    found = rows(
        f"""SELECT DISTINCT point.passage_id FROM records_feed feed
            JOIN records_point point ON point.id = feed.point_id
            WHERE {in_ids("feed.point_id")} AND feed.split = 1""",
        [ids(inputs)],
    )
    first = {passage for (passage,) in found}
    return {passage: row if passage in first else gone for passage in splitters}


def _lost_legs(plant: LitPiece, instead: Mapping[int, Entry]) -> list[int]:
    """Return the legs in use that a splitter supposed does not have."""
    legs = [spot for spot in plant.spots.values() if spot.role == LEG]
    supposed = [(leg, instead.get(leg.passage or 0)) for leg in legs]
    return [leg.id for leg, entry in supposed if entry and leg.number > entry.outputs]
