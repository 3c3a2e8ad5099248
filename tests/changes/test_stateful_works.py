"""Random works, compound ones too: each undone or told why not, each past kept."""

from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import rule

from records.changes import bookings, buildings, cable_works, cuts, swaps
from records.models import Booking, Cable, Equipment, Place, Point, Role
from records.queries.below import below
from records.queries.buildings import building
from records.queries.find import find
from records.queries.legs import leg_counts_in
from records.queries.paths import paths
from tests.changes.machine import LENGTHS_M, one, run
from tests.changes.remembering import Remembering, kept_rows
from tests.changes.test_stateful import SPLITTERS, Crew
from tests.factories import Plant, entry


class Planner(Crew, Remembering):
    """A crew that also swaps, cuts and renumbers, and takes it back."""

    def answers(self) -> Any:
        return _answers(self.plant)

    # --- Works -------------------------------------------------------------------------------

    @rule(data=st.data())
    def move_flat(self, data: st.DataObject) -> None:
        leg = one(data, Booking.objects.open().order_by("leg_id"), "leg_id")
        to = one(data, Point.objects.filter(role=Role.LEG))
        if leg and to:
            self.make(lambda change: bookings.move(change, leg, to=to))

    @rule(data=st.data(), what=SPLITTERS)
    def swap(self, data: st.DataObject, what: tuple[str, str, str]) -> None:
        swappable = Equipment.objects.exclude(kind="olt")  # the plant finds its OLT by id
        old = swappable.filter(pk=one(data, swappable)).first()
        if old:
            entry_id = entry(*what[1:]) if old.kind == "splitter" else None
            self.make(lambda change: swaps.swap(change, old.pk, entry=entry_id))

    @rule(data=st.data(), length_m=LENGTHS_M)
    def reroute(self, data: st.DataObject, length_m: float) -> None:
        cable = one(data, Cable.objects.all())
        if cable:
            self.make(lambda change: cable_works.reroute(change, cable, length_m=length_m))

    @rule(data=st.data(), length_m=LENGTHS_M, count=st.integers(1, 3))
    def swap_cable(self, data: st.DataObject, length_m: float, count: int) -> None:
        cable = one(data, Cable.objects.all())
        if cable:
            self.make(
                lambda change: cable_works.swap(
                    change, cable, length_m=length_m, fibre_count=count
                )
            )

    @rule(data=st.data(), at_m=LENGTHS_M)
    def cut(self, data: st.DataObject, at_m: float) -> None:
        cable = one(data, Cable.objects.all())
        name = self.name("K")
        if cable:
            self.make(
                lambda change: cuts.cut(
                    change, cable, at_m=at_m, place=self.plant.riser, closure_name=name
                )
            )

    @rule(flats=st.permutations("123"))
    def renumber(self, flats: list[str]) -> None:
        pks = [self.plant.flat(each) for each in "123"]
        names = [f"Flat {each}" for each in flats]
        self.make(lambda change: buildings.renumber(change, flats=pks, names=names))

    @rule(data=st.data())
    def retire_with_all(self, data: st.DataObject) -> None:
        place = one(data, Place.objects.filter(depth__gte=3))
        self.make(lambda change: buildings.retire(change, place))


def _answers(plant: Plant) -> Any:
    """Return what the queries say of the whole small plant."""
    block = Place.objects.get(pk=plant.building)
    points = list(Point.objects.order_by("pk").values_list("pk", flat=True))
    return (
        kept_rows(),
        [paths(point) for point in points],
        below(points),
        building(block),
        leg_counts_in(block),
        [find(words) for words in ("flat 1", "block a", "s leg 3", "alder", "court")],
    )


def test_random_works_are_undone_and_the_past_stays(db):
    run(Planner, examples=12)
