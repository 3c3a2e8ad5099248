"""The explanation of a level: its launch, each loss with its source, and the sums side by side."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.handover import distance_picture
from records.handover.path_picture import of_channel
from records.models import Direction, Role
from records.queries.citations import Citation, CitedFigure
from records.queries.explain import Explanation, Term, explain_path
from records.queries.paths import Path, paths
from records.queries.points import point_at
from records.queries.readings import latest_readings
from records.web import crumbs
from records.web.past import as_asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Cited:
    """The figures of an entry that share a source, in the order of their bounds."""

    figures: tuple[CitedFigure, ...]
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A numbered entry of the catalogue: what it is called, and where its figures come from."""

    number: int
    name: str
    entry_id: int
    unit: str
    cited: tuple[Cited, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A term that costs something; its source is None where the loss was measured."""

    term: Term
    source: Source | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One direction: the explanation, its rows, their sources; and what counts nothing, why."""

    heading: str
    told: Explanation
    rows: tuple[Row, ...]
    sources: tuple[Source, ...]
    silent: tuple[tuple[str, int], ...]


@as_asked
def explanation_page(request: HttpRequest, point_id: int, channel_id: int) -> HttpResponse:
    """Show how the level of a channel at a point comes about, down there and up at the OLT."""
    at = point_at(point_id)
    lit = paths(point_id) if at else []
    path = next((each for each in lit if each.lit.channel_id == channel_id), None)
    if at is None or path is None:
        raise Http404("There is no light of this channel at this point. Find the point again.")
    read = latest_readings(hop.spot.point_id for hop in path.hops)
    along = of_channel(path, read)
    context = {
        "at": at,
        "point": at.point,
        "crumbs": [*crumbs.of_point(at.point), crumbs.to_point(at)],
        "lit": path.lit,
        "port": path.hops[0].spot,
        "others": [each.lit for each in lit],
        "ways": tuple(_ways(path)),
        "is_terminal": at.point.role == Role.TERMINAL,
        "picture": distance_picture.drawn(path, along),
    }
    return render(request, "records/light/explanation.html", context)


def _ways(path: Path) -> Iterator[Way]:
    headings = {Direction.DOWN: "Down, from the OLT to here", Direction.UP: "Up, to the OLT"}
    for direction, heading in headings.items():
        told = explain_path(path, direction)
        sources: dict[tuple[CitedFigure, ...], Source] = {}
        rows = tuple(_row(term, sources) for term in told.terms if not term.note)
        yield Way(
            heading=heading,
            told=told,
            rows=rows,
            sources=tuple(sources.values()),
            silent=tuple(Counter(term.note for term in told.terms if term.note).items()),
        )


def _row(term: Term, sources: dict[tuple[CitedFigure, ...], Source]) -> Row:
    """Return a term as a row, its source numbered when it is met first."""
    if term.figures and term.figures not in sources:
        sources[term.figures] = _source(len(sources) + 1, term)
    return Row(term=term, source=sources.get(term.figures))


def _source(number: int, term: Term) -> Source:
    by_citation: dict[Citation, list[CitedFigure]] = {}
    for figure in term.figures:
        by_citation.setdefault(figure.citation, []).append(figure)
    return Source(
        number=number,
        name=term.by,
        entry_id=term.figures[0].entry_id,
        unit="dB/km" if term.by_kind == "fibre" else "dB",
        cited=tuple(Cited(figures=tuple(each), citation=of) for of, each in by_citation.items()),
    )
