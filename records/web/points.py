"""A point: its light, hop by hop, what was read there, and who hangs below."""

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString

from records.handover import path_picture
from records.handover.strip import Stage, stages
from records.models import Point, Role
from records.queries.below import below
from records.queries.dark import way_up
from records.queries.paths import Path, paths
from records.queries.points import point_at
from records.queries.pon_trees import ToldTree, told_trees
from records.queries.readings import Judged, latest_readings, readings_at
from records.queries.tags import tags_on
from records.web import actions, crumbs
from records.web.past import as_asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A path, the things along it, its picture, and the latest readings by the point.

    `latest` is the one at the end of the path, with the last good one before it.
    """

    path: Path
    stages: tuple[Stage, ...]
    picture: SafeString
    read: dict[int, Judged]
    latest: Judged | None


@as_asked
def point_page(request: HttpRequest, point_id: int) -> HttpResponse:
    """Show a point."""
    at = point_at(point_id)
    if at is None:
        raise Http404("There is no such point. It may have been removed; find it again.")
    lit = paths(point_id)
    readings = readings_at(point_id)
    context = {
        "at": at,
        "point": at.point,
        "crumbs": crumbs.of_point(at.point),
        "strips": _strips(lit, readings),
        "way": None if lit else way_up(point_id),
        "readings": readings,
        "hanging": below([point_id]),
        "trees": _trees(at.point, lit),
        "is_terminal": at.point.role == Role.TERMINAL,
        "is_port_of_olt": at.point.role == Role.PON,
        "actions": list(actions.at_point(at)),
        "tags": tags_on("point", point_id),
    }
    return render(request, "records/point.html", context)


def _trees(point: Point, lit: list[Path]) -> list[ToldTree]:
    """Return the trees that hang from a PON port; other points have none of their own."""
    if point.role != Role.PON:
        return []
    return told_trees(path.lit.channel_id for path in lit)


def _strips(lit: list[Path], readings: list[Judged]) -> list[Strip]:
    read = latest_readings(hop.spot.point_id for path in lit for hop in path.hops)
    of_channel = path_picture.of_channel
    return [_strip(path, of_channel(path, read), of_channel(path, readings)) for path in lit]


def _strip(path: Path, read: list[Judged], here: list[Judged]) -> Strip:
    return Strip(
        path=path,
        stages=tuple(stages(path.hops)),
        picture=path_picture.drawn(path, read),
        read={each.reading.point_id: each for each in read},
        latest=here[0] if here else None,
    )
