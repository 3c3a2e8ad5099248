"""The demo's labels: laid out and recorded as a crew prints them, with codes drawn beforehand."""

from collections.abc import Iterator, Sequence

from labels import orders, owner, runs, shelf
from labels.choices import thing_items
from labels.items import Things
from records.changes import OpenChange
from records.models import Cable, Equipment, Place, Point, PrintRun
from records.queries.words import counted


class DemoPrinter:
    """Print the demo's labels on the usual sheet."""

    def __init__(self, codes: Iterator[str]) -> None:
        """Take the codes that new tags get, in their order."""
        self._codes = codes

    def things(
        self,
        change: OpenChange,
        chosen: str,
        *,
        places: Sequence[int] = (),
        equipment: Sequence[int] = (),
        points: Sequence[int] = (),
        cables: Sequence[int] = (),
    ) -> PrintRun:
        """Print the labels of these things and record the run."""
        items = thing_items(
            Things(
                places=Place.objects.filter(pk__in=places),
                equipment=Equipment.objects.filter(pk__in=equipment),
                points=Point.objects.filter(pk__in=points),
                cables=Cable.objects.filter(pk__in=cables),
            )
        )
        return runs.record(change, runs.lay_out(items, _order(), self._codes), chosen)

    def blanks(self, change: OpenChange, count: int) -> PrintRun:
        """Print blank tags and record the run."""
        laid = runs.lay_out_blanks(count, _order(), self._codes)
        return runs.record(change, laid, counted(count, "blank tag"))


def _order() -> orders.Order:
    return orders.Order(stock=shelf.stock(shelf.USUAL_SHEET), settings=owner.settled())
