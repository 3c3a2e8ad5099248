"""Where a figure comes from and how far it was confirmed, by its own mark and by people since."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.contrib.auth import get_user_model

from records.models import Confidence, Figure
from records.models.catalogue import Sourced
from records.queries.engine import ids, in_ids, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmed:
    """A person's word that a row says what an edition says: where, who, and by which change."""

    confirmation_id: int
    edition: str
    table: str
    by: str
    change_number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """The source of a row, its mark, and the latest confirmation, if any."""

    source: str
    url: str
    confidence: str
    note: str
    confirmed: Confirmed | None

    @property
    def is_unconfirmed(self) -> bool:
        """Tell whether the row stands on memory alone."""
        return self.confidence == Confidence.MEMORY and self.confirmed is None


@dataclass(frozen=True, slots=True, kw_only=True)
class CitedFigure:
    """One bound of an entry's loss over a band; `value_db` is dB a kilometre for fibre."""

    figure_id: int
    entry_id: int
    branch: int | None
    bound: str
    value_db: float
    wavelength_min_nm: int
    wavelength_max_nm: int
    citation: Citation


def cited(row: Sourced, confirmed: Confirmed | None) -> Citation:
    """Return the citation of a row."""
    return Citation(
        source=row.source,
        url=row.url,
        confidence=row.confidence,
        note=row.note,
        confirmed=confirmed,
    )


_CONFIRMATIONS = """
SELECT confirmation.{row}, confirmation.id, confirmation.edition, confirmation."table",
       person.username, change.number
FROM records_confirmation confirmation
JOIN records_change change ON change.number = confirmation.change_id
JOIN {people} person ON person.id = change.actor_id
WHERE confirmation.{some}
ORDER BY confirmation.id
"""


def confirmations(field: str, row_ids: Iterable[int]) -> dict[int, Confirmed]:
    """Return the latest confirmation of each of some rows, by row; `field` says which rows."""
    found = rows(
        _CONFIRMATIONS.format(row=f"{field}_id", some=in_ids(f"{field}_id"), people=_people()),
        [ids(row_ids)],
    )
    return {
        row: Confirmed(
            confirmation_id=pk, edition=edition, table=table, by=by, change_number=number
        )
        for row, pk, edition, table, by, number in found
    }


def _people() -> str:
    return get_user_model()._meta.db_table


def figures_at(entry_ids: Iterable[int], wavelength_nm: int) -> dict[int, list[CitedFigure]]:
    """Return the figures of some entries that hold at a wavelength, by entry, with two queries."""
    listed = list(
        Figure.objects.filter(
            entry__in=set(entry_ids),
            wavelength_min_nm__lte=wavelength_nm,
            wavelength_max_nm__gte=wavelength_nm,
        ).order_by("pk")
    )
    confirmed = confirmations("figure", (row.pk for row in listed))
    found: dict[int, list[CitedFigure]] = {}
    for row in listed:
        found.setdefault(row.entry_id, []).append(_figure(row, confirmed.get(row.pk)))
    return found


def _figure(row: Figure, confirmed: Confirmed | None) -> CitedFigure:
    return CitedFigure(
        figure_id=row.pk,
        entry_id=row.entry_id,
        branch=row.branch,
        bound=row.bound,
        value_db=row.value_mdb / 1000,
        wavelength_min_nm=row.wavelength_min_nm,
        wavelength_max_nm=row.wavelength_max_nm,
        citation=cited(row, confirmed),
    )
