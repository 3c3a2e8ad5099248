"""Laws of the plant: joints, bookings, cables, places, tags, leg conditions."""

# ruff: noqa: D401 - a law is a statement

from collections.abc import Iterator

from records.models import Place, Tag
from records.models.tag_code import TagCodeError, parse
from records.queries.engine import rows
from records.queries.names import named_points


def joints_have_two_ends() -> Iterator[str]:
    """A joint has exactly two ends, and a point is in at most one joint."""
    for joint, count in rows(
        """SELECT joint.id, COUNT(joint_end.point_id) FROM records_joint joint
           LEFT JOIN records_jointend joint_end ON joint_end.joint_id = joint.id
           GROUP BY joint.id HAVING COUNT(joint_end.point_id) <> 2"""
    ):
        yield f"Joint {joint} has {count} ends."
    for point, count in rows(
        "SELECT point_id, COUNT(*) FROM records_jointend GROUP BY point_id HAVING COUNT(*) > 1"
    ):
        yield f"{_name(point)} is in {count} joints."


def legs_and_lines_have_one_open_booking() -> Iterator[str]:
    """A leg has at most one open booking, and so has a line."""
    for what, column in (("Leg", "leg_id"), ("Line", "line_id")):
        for thing, count in rows(
            f"""SELECT {column}, COUNT(*) FROM records_booking WHERE state IN ('held', 'live')
                GROUP BY {column} HAVING COUNT(*) > 1"""
        ):
            yield f"{what} number {thing} has {count} open bookings."


def cables_have_their_fibres() -> Iterator[str]:
    """A cable has as many fibres as it says, each with an A end and a B end."""
    for cable, said, fibres, ends in rows(
        """SELECT cable.name, cable.fibre_count, COUNT(DISTINCT fibre.id), COUNT(point.id)
           FROM records_cable cable
           LEFT JOIN records_passage fibre ON fibre.cable_id = cable.id
           LEFT JOIN records_point point ON point.passage_id = fibre.id
           GROUP BY cable.id, cable.name, cable.fibre_count
           HAVING COUNT(DISTINCT fibre.id) <> cable.fibre_count
               OR COUNT(point.id) <> 2 * cable.fibre_count"""
    ):
        yield f"Cable {cable} should have {said} fibres; it has {fibres}, with {ends} ends."


def places_form_a_tree() -> Iterator[str]:
    """A place stands directly inside the place whose path begins its own."""
    # A path is by one step longer than that of the place around it.
    around = f"SUBSTR(path, 1, LENGTH(path) - {Place.steplen})"
    for place, path, depth, numchild, above, inside in rows(
        f"""SELECT place.name, place.path, place.depth, place.numchild, above.id,
                   COALESCE(inside.count, 0)
            FROM (SELECT name, path, depth, numchild, {around} AS around_path
                  FROM records_place) place
            LEFT JOIN records_place above ON above.path = place.around_path
            LEFT JOIN (SELECT {around} AS around_path, COUNT(*) AS count FROM records_place
                       GROUP BY 1) inside ON inside.around_path = place.path"""
    ):
        if (
            len(path) != Place.steplen * depth
            or (depth > 1 and above is None)
            or numchild != inside
        ):
            yield f"{place} has path {path} at depth {depth}, {numchild} places said inside."


def tags_have_their_check_character() -> Iterator[str]:
    """Each tag's code has the form and the check character of a tag code."""
    for code in Tag.objects.values_list("code", flat=True).iterator():
        try:
            is_sound = parse(code) == code
        except TagCodeError:
            is_sound = False
        if not is_sound:
            yield f"Tag {code} is not a tag code."


# From each joined leg through all but splitters, lit or dark.
_LEGS_INTO_SPLITTERS = """
WITH RECURSIVE beyond(leg_id, point_id) AS (
    SELECT leg.id, far.point_id FROM records_point leg
    JOIN records_jointend near ON near.point_id = leg.id
    JOIN records_jointend far ON far.joint_id = near.joint_id AND far.side <> near.side
    WHERE leg.role = 'leg'
    UNION
    SELECT beyond.leg_id, far.point_id FROM beyond
    JOIN records_point enter ON enter.id = beyond.point_id
    JOIN records_point leave
      ON leave.passage_id = enter.passage_id AND leave.side <> enter.side
     AND enter.role <> 'input' AND enter.role <> 'leg'
    JOIN records_jointend near ON near.point_id = leave.id
    JOIN records_jointend far ON far.joint_id = near.joint_id AND far.side <> near.side
)
SELECT DISTINCT beyond.leg_id FROM beyond
JOIN records_point point ON point.id = beyond.point_id
WHERE point.role = 'input'
"""


def leg_conditions_follow() -> Iterator[str]:
    """A leg is onward if it leads to a splitter, barred if it has a reason, else as it is booked.

    An onward or barred leg has no open booking, and only a barred one has a reason.
    """
    onward = {leg for (leg,) in rows(_LEGS_INTO_SPLITTERS)}
    for leg, condition, barred_reason, booked in rows(
        """SELECT leg.id, leg.condition, leg.barred_reason, booking.state
           FROM records_point leg
           LEFT JOIN records_booking booking
             ON booking.leg_id = leg.id AND booking.state IN ('held', 'live')
           WHERE leg.role = 'leg'"""
    ):
        claims = [
            *(["onward"] if leg in onward else []),
            *(["barred"] if barred_reason else []),
            *([booked] if booked else []),
        ] or ["spare"]
        if claims != [condition]:
            yield f"{_name(leg)} is {condition}, but should be {' and '.join(claims)}."


def _name(point_id: int) -> str:
    return named_points([point_id]).get(point_id, f"point {point_id}")
