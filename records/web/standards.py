"""The catalogue: classes, losses and colours, each figure with its source and mark."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.models import CatalogueEntry, ColourScheme, Confidence, OpticalClass, TakeOver
from records.models.catalogue import Sourced
from records.queries import standards
from records.queries.citations import Citation, cited, confirmations
from records.queries.take_overs import newer_version, take_overs


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Rows that follow each other and share a source, and what stands of that source."""

    noun: str
    rows: tuple[Sourced, ...]
    citation: Citation

    @property
    def can_be_found(self) -> bool:
        """Tell whether a person can look it up: what is computed stands in no document."""
        is_open = self.citation.confirmed is None
        return is_open and self.citation.confidence in {Confidence.MEMORY, Confidence.SECONDARY}

    @property
    def row_ids(self) -> str:
        """Return their ids with commas between, as the form of a confirmation takes them."""
        return ",".join(str(row.pk) for row in self.rows)


def catalogue_page(request: HttpRequest) -> HttpResponse:
    """Show all that the catalogue holds."""
    context = {
        "catalogue": standards.catalogue(),
        "has_take_overs": TakeOver.objects.exists(),
    }
    return render(request, "records/catalogue.html", context)


def class_page(request: HttpRequest, class_id: int) -> HttpResponse:
    """Show one optical class with both directions."""
    found = get_object_or_404(OpticalClass, pk=class_id)
    directions = standards.directions(found)
    groups = _groups("class_direction", directions, is_together=False)
    context = {"optical_class": found, "directions": directions, "groups": list(groups)}
    return render(request, "records/optical_class.html", context)


def entry_page(request: HttpRequest, entry_id: int) -> HttpResponse:
    """Show one catalogue entry with its figures, its versions, and how a take-over goes."""
    entry = get_object_or_404(CatalogueEntry, pk=entry_id)
    context = {
        "entry": entry,
        "groups": list(_groups("figure", standards.figures(entry))),
        "versions": standards.versions(entry),
        "newer": newer_version(entry),
        "take_overs": take_overs(entry=entry_id),
        "unit": "dB/km" if entry.kind == "fibre" else "dB",
    }
    return render(request, "records/entry.html", context)


def colours_page(request: HttpRequest, scheme_id: int) -> HttpResponse:
    """Show one colour scheme."""
    scheme = get_object_or_404(ColourScheme, pk=scheme_id)
    groups = list(_groups("scheme_colour", standards.colours(scheme)))
    return render(request, "records/colours.html", {"scheme": scheme, "groups": groups})


def _groups(noun: str, rows: Iterable[Sourced], *, is_together: bool = True) -> Iterator[Group]:
    """Yield rows with their source said once for those that follow each other, or each alone."""
    listed = list(rows)
    confirmed = confirmations(noun, (row.pk for row in listed))
    citations = [(row, cited(row, confirmed.get(row.pk))) for row in listed]
    if not is_together:
        yield from (Group(noun=noun, rows=(row,), citation=each) for row, each in citations)
        return
    for _, pairs in groupby(citations, key=lambda pair: _alike(pair[1])):
        together = list(pairs)
        rows_together = tuple(row for row, _ in together)
        yield Group(noun=noun, rows=rows_together, citation=together[0][1])


def _alike(citation: Citation) -> tuple[object, ...]:
    """Return what must be alike for rows to stand under one source.

    Each row has a confirmation of its own; of one change they say the same.
    """
    word = citation.confirmed
    said = word and (word.edition, word.table, word.change_number)
    return (citation.source, citation.url, citation.confidence, citation.note, said)
