"""The files in which a place is handed over: which there are, and how each is made.

They are made of the record as the queries answer for it, so of any past moment as well:

    with as_it_stood(number):
        document = files.export(place, "legs", has_addresses=False)
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from records.changes.refusals import Malformed
from records.handover.exports import schedules
from records.handover.exports.flats_left_out import NEVER
from records.handover.exports.flats_sheet import flats_sheet
from records.handover.exports.left_out import LeftOut
from records.handover.exports.readings_sheet import readings_sheet
from records.handover.exports.tables import Table, csv_of
from records.handover.file_names import file_name
from records.handover.one_moment import one_moment
from records.models import Place
from records.queries.contents import is_large
from records.queries.plant_inside import PlantInside, plant_inside


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A file made of a place: its table, and what it does not say.

    `never` is what no file of its kind says, `assumed` the types to name when a sheet of flats is
    taken in, by the intake's own names.
    """

    file_name: str
    table: Table
    left_out: tuple[LeftOut, ...] = ()
    never: tuple[str, ...] = ()
    assumed: dict[str, str | float] | None = None

    def csv(self) -> Iterator[str]:
        """Yield the file's text, some rows at once."""
        return csv_of(self.table)


@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """A kind of file: its short name, its title, and what it is for."""

    what: str
    title: str
    means: str
    make: "Callable[[PlantInside, bool], _Made]"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    table: Table
    left_out: tuple[LeftOut, ...] = ()
    never: tuple[str, ...] = ()
    assumed: dict[str, str | float] | None = None


def _sheet(plant: PlantInside, has_addresses: bool) -> _Made:  # noqa: FBT001 (one form of `make`)
    made = flats_sheet(plant, has_addresses=has_addresses)
    return _Made(table=made.table, left_out=made.left_out, never=NEVER, assumed=made.assumed)


def _readings(plant: PlantInside, has_addresses: bool) -> _Made:  # noqa: FBT001 (as above)
    table, left_out = readings_sheet(plant, has_addresses=has_addresses)
    never = () if has_addresses else ("who held the meter",)
    return _Made(table=table, left_out=left_out, never=never)


def _schedule(make: Callable[..., Table]) -> Callable[[PlantInside, bool], _Made]:
    return lambda plant, has_addresses: _Made(table=make(plant, has_addresses=has_addresses))


EXPORTS = (
    Export(
        what="sheet",
        title="Sheet of flats",
        means="one row a flat, in the columns of a crew's sheet: it can be taken in again",
        make=_sheet,
    ),
    Export(
        what="homes",
        title="Schedule of homes",
        means="outlet, terminal, line, leg, state, level to expect, verdict and last reading",
        make=_schedule(schedules.homes),
    ),
    Export(
        what="legs",
        title="Schedule of legs",
        means="each leg of each splitter: condition, line, what it is joined to, level to expect",
        make=_schedule(schedules.legs),
    ),
    Export(
        what="cables",
        title="Schedule of cables",
        means="each fibre of each cable and patch cord: colour, length, condition, both ends",
        make=_schedule(schedules.cables),
    ),
    Export(
        what="readings",
        title="Readings",
        means="all readings, in the columns of a meter's file: it can be taken in again",
        make=_readings,
    ),
)
"""Every kind of file, in the order in which they are offered."""

WHAT = tuple(each.what for each in EXPORTS)


def export(place: Place, what: str, *, has_addresses: bool) -> Document:
    """Return a file of a place, with a number of queries that does not grow with it.

    The same change and the same form give the same file.
    Raises: Malformed for a kind that is not known, or a place too large for one file.
    """
    kind = kind_of(what)
    _refuse_large(place)
    with one_moment():
        made = kind.make(plant_inside(place), has_addresses)
        name = file_name(place, what, "csv", has_addresses=has_addresses)
    return Document(
        file_name=name,
        table=made.table,
        left_out=made.left_out,
        never=made.never,
        assumed=made.assumed,
    )


def kind_of(what: str) -> Export:
    """Return a kind of file by its short name. Raises: Malformed."""
    found = next((each for each in EXPORTS if each.what == what), None)
    if found is None:
        raise Malformed(
            f"There is no export '{what}'.", hint=f"Ask for one of: {', '.join(WHAT)}."
        )
    return found


def _refuse_large(place: Place) -> None:
    if is_large(place):
        raise Malformed(f"{place.name} is too large for one file.", hint="Export each building.")
