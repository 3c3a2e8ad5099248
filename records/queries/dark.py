"""The way up from a point that no light reaches yet: what the plant will bring it from.

A building is wired before its feeder is lit, and the question 'which leg feeds flat 12?' is asked
then. The way is read from the joints and passages alone, without levels.
"""

from dataclasses import dataclass

from records.light.plant import INPUT, LEG, Piece
from records.models import JointEnd, Point, Role
from records.queries.piece import Reach, reach, together


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """The points from the highest known one down to the one asked for, and the leg among them."""

    points: tuple[Point, ...]
    leg: Point | None


def way_up(point_id: int) -> Way:
    """Return the way up from a point: to a PON port, or as far as things are joined.

    From a fibre end or adapter face both directions are tried; the one that comes to a splitter
    leg or PON port is up.
    """
    directions = [_climb(reach(point_id), point_id)]
    mate = JointEnd.objects.filter(joint__ends__point=point_id).exclude(point=point_id).first()
    if mate is not None:
        over = _climb(reach(mate.point_id), mate.point_id)
        directions.append([point_id, *over])
    rows = Point.objects.select_related("equipment__place", "passage__cable").in_bulk(
        {point for way in directions for point in way}
    )
    best = max(directions, key=lambda way: _rank(way, rows))
    points = tuple(rows[point] for point in reversed(best))
    legs = [point for point in points if point.role == Role.LEG]
    return Way(points=points, leg=legs[-1] if legs else None)


def _climb(found: Reach, start: int) -> list[int]:
    """Follow a piece from where light would enter it, upwards only."""
    piece = together([found])
    way = [start]
    while True:
        beyond = _next(piece, way[-1])
        if not beyond or any(point in way for point in beyond):
            return way
        way.extend(beyond)


def _next(piece: Piece, enter: int) -> list[int]:
    """Return the next two points: out of the passage entered, and over the joint there."""
    if piece.spots[enter].role == INPUT:
        return []
    leaves = piece.across(enter)
    joined = [leave for leave in leaves if piece.mate(leave.id) is not None]
    for leave in joined or leaves[:1]:
        mate = piece.mate(leave.id)
        return [leave.id] if mate is None else [leave.id, mate.id]
    return []


def _rank(way: list[int], rows: dict[int, Point]) -> tuple[bool, bool, int]:
    roles = [rows[point].role for point in way]
    return Role.PON in roles, LEG in roles[1:], len(way)
