"""Random versions of catalogue entries, for a machine whose plant uses them."""

from collections.abc import Callable
from typing import Any

from hypothesis import event
from hypothesis import strategies as st
from hypothesis.stateful import rule

from records.changes import OpenChange, catalogue, equipment
from records.changes.figures import GivenFigure
from records.models import CatalogueEntry, Confirmation, EntryKind, Figure, Passage, TakeOver
from records.queries.take_overs import uses
from tests.changes.machine import one
from tests.changes.remembering import Remembering


class Versions(Remembering):
    """A crew that adds entries, supersedes them and lets the new versions take over."""

    @rule(data=st.data(), extra_db=st.integers(-2, 3))
    def supersede(self, data: st.DataObject, extra_db: int) -> None:
        """Add an entry like one in use, or supersede that."""
        self._supersede(data, extra_db)

    def _supersede(self, data: st.DataObject, extra_db: int) -> None:
        in_use = Passage.objects.order_by().values("entry")
        old = CatalogueEntry.objects.get(
            pk=one(data, CatalogueEntry.objects.filter(pk__in=in_use))
        )
        figures, name = _figures(old, extra_db), self.name("Ours ")
        deeds: list[Callable[[OpenChange], Any]] = [
            lambda change: catalogue.supersede(change, old.pk, figures=figures),
            lambda change: catalogue.add(
                change,
                kind=old.kind,
                name=name,
                figures=figures,
                inputs=old.inputs,
                outputs=old.outputs,
            ),
        ]
        self.make(data.draw(st.sampled_from(deeds)))

    @rule(data=st.data(), trees=st.integers(1, 2))
    def take_over(self, data: st.DataObject, trees: int) -> None:
        found = TakeOver.objects.filter(pk=one(data, TakeOver.objects.all())).first()
        if found is None:
            self._supersede(data, extra_db=1)
            return
        old, new = uses(found.old_id), uses(found.new_id)
        refused = self.make(lambda change: catalogue.take_over(change, found.pk, trees=trees))
        moved = old - uses(found.old_id)
        assert uses(found.new_id) == new + moved
        assert bool(moved) == (not refused and old > 0)
        if moved:
            event("moved to a new version")

    @rule(data=st.data())
    def install_a_version(self, data: st.DataObject) -> None:
        splitters = CatalogueEntry.objects.filter(kind=EntryKind.SPLITTER, outputs__lte=4)
        of_type, name = one(data, splitters), self.name("S")
        self.make(
            lambda change: equipment.install(
                change, kind="splitter", place=self.plant.riser, name=name, entry=of_type
            )
        )

    @rule(data=st.data(), is_new=st.booleans())
    def confirm(self, data: st.DataObject, *, is_new: bool) -> None:
        row = one(data, Figure.objects.order_by("pk"))
        earlier = one(data, Confirmation.objects.all())
        self.make(
            lambda change: (
                catalogue.confirm(change, noun="figure", row=row, edition="2026", table="3")
                if is_new
                else catalogue.unconfirm(change, earlier or 0)
            )
        )


def _figures(of: CatalogueEntry, extra_db: int) -> list[GivenFigure]:
    """Return an entry's figures with a loss some dB greater, which may be refused."""
    return [
        GivenFigure(
            bound=each.bound,
            wavelength_min_nm=each.wavelength_min_nm,
            wavelength_max_nm=each.wavelength_max_nm,
            value_db=each.value_mdb / 1000 + extra_db,
            source=each.source,
            confidence=each.confidence,
            branch=each.branch,
        )
        for each in of.figures.order_by("pk")
    ]
