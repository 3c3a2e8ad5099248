"""The budget of a way of light: launch, loss and level at both ends, and what is left over."""

from collections.abc import Iterator, Sequence

from records.handover.figures import number
from records.handover.pack.grid import Cell, Column, Row, row
from records.handover.pack.told import Told
from records.handover.pack.words import faults_of
from records.models import Direction
from records.optics.classes import needed_dbm
from records.queries.levels import Lit
from records.queries.paths import Path

COLUMNS = (
    Column("Budget", 29),
    Column("Launch, dBm", 17, "right"),
    Column("Loss, dB", 22, "right"),
    Column("Level, dBm", 26, "right"),
    Column("Window, dBm", 22, "right"),
    Column("Margin, dB\nworst", 15, "right"),
    Column("\nstatistical", 14, "right"),
    Column("\ntypical", 11, "right"),
    Column("To over-\nload, dB", 13, "right"),
    Column("Verdict", 24),
)
"""The margins to too weak in three cases side by side; too strong is what the best case may be."""


def budget(told: Told, ways: Sequence[Path]) -> Iterator[Row]:
    """Yield a row a way and direction."""
    for path in ways:
        yield from _both(told, path.lit, has_name=len(ways) > 1)


def _both(told: Told, lit: Lit, *, has_name: bool) -> Iterator[Row]:
    """Yield the rows down and up."""
    system, down, up = lit.optical_class.system, lit.optical_class.down, lit.optical_class.up
    yield row(
        Cell(f"{system} down" if has_name else "down, at the home", is_bold=True),
        _range(lit.launch.least_dbm, lit.launch.most_dbm),
        _range(lit.down_loss.least_db, lit.down_loss.most_db),
        _range(lit.level.least_dbm, lit.level.most_dbm),
        _range(needed_dbm(down), down.overload_dbm, places=1),
        *_margins(told, lit, Direction.DOWN),
        number(lit.down_margins.below_overload_db),
        faults_of(lit.down_verdicts),
    )
    yield row(
        Cell(f"{system} up" if has_name else "up, at the OLT", is_bold=True),
        _range(up.launch_min_dbm, up.launch_max_dbm),
        _range(lit.up_loss.least_db, lit.up_loss.most_db),
        _range(lit.up_level.least_dbm, lit.up_level.most_dbm),
        _range(needed_dbm(up), up.overload_dbm, places=1),
        *_margins(told, lit, Direction.UP),
        number(lit.up_margins.below_overload_db),
        faults_of(lit.up_verdicts),
    )


def _margins(told: Told, lit: Lit, direction: Direction) -> Iterator[str]:
    """Yield the margins to too weak, the worst case first."""
    cases = {
        each.name: each for each in told.built.cases[lit.point_id, lit.channel_id, direction.value]
    }
    yield from (number(cases[name].margin_db) for name in ("worst", "statistical", "typical"))


def _range(least: float, most: float, places: int = 2) -> str:
    if least == most:
        return number(least, places)
    return f"{number(least, places)} to {number(most, places)}"
