"""What stands in the way of reversing a change: what no verb can turn back, what came later."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, Q

from records.changes._undo_draft import began, ended, hangs, is_open, joint_points
from records.changes._undo_names import MODELS, called, points_called
from records.models import (
    KEPT,
    STILL,
    TAGGED,
    Booking,
    Cable,
    Change,
    Channel,
    Equipment,
    Joint,
    JointEnd,
    Place,
    Point,
)
from records.queries.deltas import Delta, Row, Turn, live_rows
from records.queries.names import address
from records.queries.take_overs import newest_versions
from records.queries.things import named
from records.queries.words import counted

_TURNED_BACK = {
    "place": {"name", "retired"},
    "equipment": {"place_id", "name", "serial"},
    "cable": {"name", "length_cm", "a_place_id", "b_place_id"},
    "passage": {"length_cm", "measured_mdb", "damage"},
    "point": {"condition", "barred_reason", "measured_mdb"},
    "joint": {"kind", "entry_id", "stands_in_id", "tray", "measured_mdb"},
    "jointend": {"joint_id", "side"},
    "channel": {"launch_mdbm", "point_id"},
    "line": set[str](),
    "booking": {"state", "leg_id"},
    "reading": set[str](),
    "tag": {"voided", "cable_end", *(f"{noun}_id" for noun in TAGGED)},
}
"""The columns that steps can turn back, by model."""

_FOLLOWING = {"point": {"condition"}, "jointend": {"joint_id", "side"}, "booking": {"state"}}
"""Columns that follow from others, so that a later change of theirs is no obstacle."""

_OWNED = ("point", "passage", "jointend")
"""What goes when its equipment, cable or joint goes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """What keeps steps from reversing a change, in words; `change` is the later one at fault."""

    words: str
    change: int | None = None


def obstacles(number: int, changed: Delta) -> list[Obstacle]:
    """Return all that keeps steps from reversing a change; none if they can."""
    if not any(_is_altered(turn) for turns in changed.values() for turn in turns.values()):
        words = f"Change {number} did nothing to the plant that steps could reverse."
        return [Obstacle(words=words)]
    found = [
        *(Obstacle(words=words) for words in _beyond_verbs(changed)),
        *_touched_since(number, changed),
        *_places_filled(changed),
        *_in_use(changed),
        *_names_taken(changed),
        *_ends_taken(changed),
        *_promised_otherwise(changed),
    ]
    return list(dict.fromkeys(found))


def _is_altered(turn: Turn) -> bool:
    """Tell whether more than a personal column differs, which is cut out for ever."""
    return turn.before is None or turn.after is None or bool(turn.altered)


def notes(changed: Delta) -> list[str]:
    """Return in words what will differ from before though the change is reversed."""
    found = _anew(changed)
    found += _void(changed)
    found += [
        f"Line {row['identifier']} stays on record without a leg: lines outlive everything."
        for row in began(changed["line"]).values()
    ]
    found += [
        f"{row['name']} is retired, not deleted, and keeps its name."
        for row in began(changed["place"]).values()
    ]
    blank = [row for row in began(changed["tag"]).values() if not hangs(row)]
    if blank:
        stay = "stays" if len(blank) == 1 else "stay"
        found.append(f"{counted(len(blank), 'blank tag')} {stay} issued.")
    lost = [
        row for row in ended(changed["reading"]).values() if row["point_id"] in changed["point"]
    ]
    if lost:
        stay = "stays" if len(lost) == 1 else "stay"
        found.append(
            f"{counted(len(lost), 'reading')} of what was removed {stay} in history only."
        )
    return found


_FEW = 5
"""Things that are named one by one; more are counted."""


def _anew(changed: Delta) -> list[str]:
    """Say which things come back as new ones."""
    gone = {noun: ended(changed[noun]).values() for noun in ("equipment", "cable")}
    names = [row["name"] for rows in gone.values() for row in rows]
    if len(names) <= _FEW:
        return [
            f"{name} comes back as a new thing with its own history; the old one stays removed."
            for name in names
        ]
    counts = f"{len(gone['equipment'])} equipment and {len(gone['cable'])} cables"
    return [f"{counts} come back as new things with their own history; the old ones stay removed."]


def _void(changed: Delta) -> list[str]:
    """Say which tags went with their things."""
    codes = [
        str(turn.before["code"])
        for turn in changed["tag"].values()
        if turn.before and _went_with_its_thing(turn, changed)
    ]
    if len(codes) <= _FEW:
        return [f"Tag {code} stays void; what it hung on needs a new one." for code in codes]
    return [f"{len(codes)} tags stay void; what they hung on needs new ones."]


# --- What no verb turns back -----------------------------------------------------------------


def _beyond_verbs(changed: Delta) -> Iterator[str]:
    newest = newest_versions()
    for noun, turns in changed.items():
        for key, turn in turns.items():
            yield from _beyond_verbs_in(noun, key, turn, newest)
    for turn in changed["tag"].values():
        is_voided = turn.before and (hangs(turn.before) or "voided" in turn.altered)
        if turn.before and is_voided and not _went_with_its_thing(turn, changed):
            yield f"Tag {turn.before['code']} was voided or hung elsewhere: a void tag stays void."
    for row in ended(changed["reading"]).values():
        if row["point_id"] not in ended(changed["point"]):
            yield (
                f"A reading at {points_called([row['point_id']])} was taken back; put back, it "
                "would name another person as the one who took it."
            )


def _beyond_verbs_in(noun: str, key: Any, turn: Turn, newest: Mapping[int, int]) -> Iterator[str]:
    allowed = _TURNED_BACK.get(noun)
    if allowed is None:
        yield f"No step takes back a {MODELS[noun]._meta.verbose_name}."
    elif _is_taken_over(turn, newest):
        yield (
            "A new version of a type took over from the old one. To go back, give that type a "
            "newer version with the old figures."
        )
    elif noun == "point" and "passage_id" in turn.altered:
        yield "A cut cable can't be made whole again; lay a new one, or swap both parts."
    elif turn.altered.keys() - allowed:
        what = ", ".join(sorted(turn.altered.keys() - allowed))
        yield f"No step puts back the {what} of {called(noun, key, turn)}."


def _is_taken_over(turn: Turn, newest: Mapping[int, int]) -> bool:
    """Tell whether a thing was moved from one version of its type to another."""
    before, after = turn.altered.get("entry_id", (None, None))
    return before is not None and newest.get(before) == newest.get(after, after)


def _went_with_its_thing(turn: Turn, changed: Delta) -> bool:
    """Tell whether a tag was voided because the thing it hung on was removed."""
    before = turn.before or {}
    return any(
        before.get(f"{noun}_id") in ended(changed[noun])
        for noun in TAGGED
        if before.get(f"{noun}_id") is not None
    )


# --- What came later -------------------------------------------------------------------------


def _touched_since(number: int, changed: Delta) -> Iterator[Obstacle]:
    """Return what is no longer as the change left it.

    A new version of its type that took over is no obstacle: it is the same joint or fibre.
    """
    newest = newest_versions()
    for noun, turns in changed.items():
        if noun not in _TURNED_BACK or noun == "line":
            continue
        left = {key: turn for key, turn in turns.items() if turn.after is not None}
        live = live_rows(MODELS[noun], left)
        for key, turn in left.items():
            goes_with_its_owner = turn.before is None and noun in _OWNED
            if key not in live and (goes_with_its_owner or _is_past(noun, turn)):
                continue
            if not _same(noun, turn.after or {}, live.get(key), newest):
                later = _next_change(MODELS[noun], key, number)
                gone = "is gone" if key not in live else "was altered"
                yield _since(f"{called(noun, key, turn)} {gone}", later)


def _is_past(noun: str, turn: Turn) -> bool:
    return noun == "booking" and not is_open(turn.after)


def _same(noun: str, left: Row, live: Row | None, newest: Mapping[int, int]) -> bool:
    if live is None:
        return False
    if "entry_id" in left:
        left = left | {"entry_id": newest.get(left["entry_id"], left["entry_id"])}
        live = live | {"entry_id": newest.get(live["entry_id"], live["entry_id"])}
    if noun == "booking" and is_open(left) != is_open(live):
        return False
    following = _FOLLOWING.get(noun, set())
    return all(live[name] == value for name, value in left.items() if name not in following)


def _next_change(model: type[Model], key: Any, number: int) -> int | None:
    """Return the first change after one that touched a row."""
    column = {str(model._meta.pk.attname): key}
    versions = (
        KEPT[model].objects.filter(**column).filter(Q(since__gt=number) | Q(until__gt=number))
    )
    numbers = {each.since for each in versions} | {each.until for each in versions}
    return min((each for each in numbers if number < each < STILL), default=None)


def _since(words: str, number: int | None) -> Obstacle:
    """Return what a later change did, and which one that was."""
    change = Change.objects.select_related("actor").filter(number=number or 0).first()
    if change is None:
        return Obstacle(words=f"{words} since, in a later change.")
    by = f"{change.actor.get_username()} on {change.at:%d %b %Y}"
    return Obstacle(words=f"{words} since, in change {number} by {by}.", change=number)


def _began_in(model: type[Model], **columns: Any) -> int | None:
    """Return the change that brought the standing version of a row."""
    version = KEPT[model].objects.filter(**columns, until=STILL).order_by("-since").first()
    return version.since if version else None


def _places_filled(changed: Delta) -> Iterator[Obstacle]:
    """Return what was put into places that the change added."""
    added = began(changed["place"])
    for place in Place.objects.filter(pk__in=added):
        inside = Place.objects.filter(path__startswith=place.path, retired=False)
        for other in inside.exclude(pk__in=added)[:3]:
            yield _since(f"{address(other)} was added", _began_in(Place, id=other.pk))
        standing = Equipment.objects.filter(place__in=inside)
        brought = {*began(changed["equipment"]), *_moved(changed)}
        for each in standing.exclude(pk__in=brought)[:3]:
            yield _since(f"{named(each)} was put there", _began_in(Equipment, id=each.pk))


def _moved(changed: Delta) -> set[int]:
    return {key for key, turn in changed["equipment"].items() if "place_id" in turn.altered}


def _in_use(changed: Delta) -> Iterator[Obstacle]:
    """Return what hangs by now on things that the change brought."""
    points = set(began(changed["point"]))
    joined = JointEnd.objects.filter(point__in=points).exclude(joint__in=began(changed["joint"]))
    for end in joined.order_by("point")[:3]:
        later = _began_in(JointEnd, point=end.point_id)
        yield _since(f"{points_called([end.point_id])} was joined", later)
    housed = Joint.objects.filter(stands_in__in=began(changed["equipment"]))
    for joint in housed.exclude(pk__in=changed["joint"])[:3]:
        yield _since(f"A joint was put into {joint.stands_in}", _began_in(Joint, id=joint.pk))
    booked = Booking.objects.open().filter(leg__in=points).exclude(pk__in=changed["booking"])
    for booking in booked.select_related("line")[:3]:
        later = _began_in(Booking, id=booking.pk)
        yield _since(
            f"{points_called([booking.leg_id])} was booked for line {booking.line}", later
        )
    lit = Channel.objects.filter(point__in=points).exclude(pk__in=changed["channel"])
    for channel in lit[:3]:
        later = _began_in(Channel, id=channel.pk)
        yield _since(f"{points_called([channel.point_id])} was lit", later)


def _names_taken(changed: Delta) -> Iterator[Obstacle]:
    """Return what has by now the name or serial of a thing that would come anew."""
    brought = began(changed["equipment"])
    for row in ended(changed["equipment"]).values():
        same = Q(place=row["place_id"], name__iexact=row["name"])
        if row["serial"]:
            same |= Q(serial=row["serial"])
        others = Equipment.objects.filter(same).exclude(pk__in=brought)
        for other in others.exclude(pk__in=changed["equipment"]):
            later = _began_in(Equipment, id=other.pk)
            yield _since(f"{named(other)} took its name or serial", later)
    for row in ended(changed["cable"]).values():
        twins = Cable.objects.filter(a_place=row["a_place_id"], name__iexact=row["name"])
        for cable in twins.exclude(pk__in=changed["cable"]):
            later = _began_in(Cable, id=cable.pk)
            yield _since(f"{named(cable)} took its name", later)
    for place in Place.objects.filter(pk__in=_places_needed(changed), retired=True):
        if "retired" not in changed["place"].get(place.pk, Turn(None, None)).altered:
            yield _since(f"{address(place)} was retired", _began_in(Place, id=place.pk))


def _places_needed(changed: Delta) -> set[int]:
    standing = {row["place_id"] for row in ended(changed["equipment"]).values()}
    ends = {
        row[side]
        for row in ended(changed["cable"]).values()
        for side in ("a_place_id", "b_place_id")
    }
    back = {
        turn.altered["place_id"][0]
        for turn in changed["equipment"].values()
        if "place_id" in turn.altered
    }
    return standing | ends | back


def _ends_taken(changed: Delta) -> Iterator[Obstacle]:
    """Return points to be joined again that are gone or joined to something else by now."""
    parted = [point for joint in ended(changed["joint"]) for point in joint_points(changed, joint)]
    standing = set(Point.objects.filter(pk__in=parted).values_list("pk", flat=True))
    for point in parted:
        if point not in standing and point not in ended(changed["point"]):
            yield _since("A point to be joined again was removed", _gone(point))
    joined = JointEnd.objects.filter(point__in=standing).exclude(joint__in=changed["joint"])
    for end in joined.order_by("point"):
        later = _began_in(JointEnd, point=end.point_id)
        yield _since(f"{points_called([end.point_id])} was joined to something else", later)


def _gone(point: int) -> int | None:
    version = KEPT[Point].objects.of(point).last()
    return version.until if version else None


def _promised_otherwise(changed: Delta) -> Iterator[Obstacle]:
    """Return legs and lines to be booked again that are promised otherwise by now."""
    again = [
        turn.before
        for turn in changed["booking"].values()
        if turn.before and is_open(turn.before) and not is_open(turn.after)
    ]
    ours = Q(pk__in=changed["booking"])
    for row in again:
        clash = Q(leg=row["leg_id"]) | Q(line=row["line_id"])
        for other in Booking.objects.open().filter(clash).exclude(ours).select_related("line"):
            later = _began_in(Booking, id=other.pk)
            yield _since(
                f"{points_called([other.leg_id])} was booked for line {other.line}", later
            )
