"""Keep light and plant in step: what a joint lights, what a parting darkens, what an edit shifts.

A joint's effect is a delta: only what goes dark or gets lit is read and written. An edit of a
length or loss recomputes the trees that the thing carries. Either way the stored feeds equal a
recomputation from nothing, which the tests check after every step.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from records.changes import _feeds, _leading, _serving
from records.changes._transaction import OpenChange
from records.changes.refusals import Refusal
from records.light.plant import Joint as LightJoint
from records.light.plant import Passage as LightPassage
from records.light.plant import Piece, Spot
from records.light.spread import (
    FACING,
    LOOP,
    Channel,
    Feed,
    Finding,
    Lead,
    lead,
    source,
    spread,
)
from records.models import Joint, Point, Role
from records.queries.catalogue import clashing, light_channels
from records.queries.engine import ids, in_ids, rows
from records.queries.names import channel_names, named_points
from records.queries.piece import Reach, reaches, together, tree


class Loop(Refusal):
    """Light would come back to where it has been."""

    code = "loop"


class SecondPath(Refusal):
    """A channel would reach a point by a second path."""

    code = "second_path"


class FacingLight(Refusal):
    """Both points already carry light, so each would send into the other."""

    code = "facing_light"


class SameWavelength(Refusal):
    """Two channels would meet at the same wavelength without being main and standby."""

    code = "same_wavelength"


class WrongWay(Refusal):
    """Light would enter a splitter by a leg."""

    code = "wrong_way"


class New(NamedTuple):
    """A new joint and its two points."""

    joint: Joint
    a: Point
    b: Point


class _Lit(NamedTuple):
    """A new joint by which light comes from a lit point to a dark one."""

    new: New
    lit: Point
    dark: Point
    arriving: list[Feed]


_Backwards = dict[tuple[int | None, int], _Lit]
"""New joints by their points in the order in which light must not cross them."""


def joined(change: OpenChange, made: Iterable[New]) -> None:
    """Light what new joints light, all at once: from each that touches light to all beyond it.

    Raises: Loop, SecondPath, FacingLight, and what they hide.
    """
    listed = list(made)
    feeds: dict[int, list[Feed]] = {}
    for feed in _feeds.at_points(end.pk for _, *ends in listed for end in ends):
        feeds.setdefault(feed.point, []).append(feed)
    dark, lit = [], []
    for new in listed:
        at_a, at_b = feeds.get(new.a.pk, []), feeds.get(new.b.pk, [])
        if at_a and at_b:
            _refuse_facing(new.a, new.b, at_a, at_b)
        if at_a:
            lit.append(_Lit(new, new.a, new.b, at_a))
        elif at_b:
            lit.append(_Lit(new, new.b, new.a, at_b))
        else:
            dark.append(new)
    fed: set[int] = _light_beyond(change, lit) if lit else set()
    if dark:
        _join_dark(dark, fed)


def _refuse_facing(a: Point, b: Point, at_a: list[Feed], at_b: list[Feed]) -> None:
    names = named_points((a.pk, b.pk))
    both = f"{names[a.pk]} and {names[b.pk]}"
    if {feed.channel for feed in at_a} & {feed.channel for feed in at_b}:
        raise SecondPath(
            f"The same channel already reaches {both}; joined, it would come by two paths.",
            hint="Part one of the two paths first.",
            subjects=(a.pk, b.pk),
        )
    raise FacingLight(
        f"Both {both} already carry light, from different ports.",
        hint="Only one of two joined points may be lit. Check that these are the right ends.",
        subjects=(a.pk, b.pk),
    )


def _spot(point: Point) -> Spot:
    return Spot(
        point.pk, point.role, point.number, point.passage_id, point.side, point.measured_mdb
    )


def _passages(point: Point) -> list[LightPassage]:
    """Return what light comes through to a point; its type tells of a pair of plugs inside."""
    passage = point.passage
    if passage is None:
        return []
    return [LightPassage(passage.pk, passage.entry_id, passage.length_cm, passage.measured_mdb)]


def _light_beyond(change: OpenChange, made: list[_Lit]) -> set[int]:
    """Light what new joints light, and return the points that are lit now."""
    beyond = reaches(each.dark.pk for each in made)
    piece = together([*beyond.values(), *(_across(each) for each in made)])
    channels = light_channels(feed.channel for each in made for feed in each.arriving)
    entered = {passage.id for each in beyond.values() for passage in each.passages}
    is_open = any(piece.is_confluence(passage) for passage in entered)
    backwards: _Backwards = {(each.dark.pk, each.lit.pk): each for each in made}
    fed: set[int] = set()
    # Where light from elsewhere may come in, a joint must find what the one before it has lit.
    for batch in [[each] for each in made] if is_open else [made]:
        feeds = _spread(piece, batch, channels, backwards)
        if is_open:
            _refuse_clashes(feeds)
        _mark_led(piece, batch, feeds)
        _feeds.write(change, feeds)
        _serving.lit(change, _at_terminals(piece, feeds))
        fed.update(feed.point for feed in feeds)
    return fed


def _across(made: _Lit) -> Reach:
    joint, lit, dark = made.new.joint, made.lit, made.dark
    across = LightJoint(lit.pk, dark.pk, joint.kind, joint.entry_id, joint.measured_mdb)
    return Reach([_spot(lit), _spot(dark)], _passages(lit), [across])


def _spread(
    piece: Piece,
    made: Iterable[_Lit],
    channels: Mapping[int, Channel],
    backwards: _Backwards,
) -> list[Feed]:
    """Return the feeds beyond new joints, which must not come back by another new one.

    Raises: Loop, SecondPath, FacingLight, WrongWay.
    """
    feeds: list[Feed] = []
    for each in made:
        for start in each.arriving:
            result = spread(piece, channels[start.channel], start)
            for feed in result.feeds:
                met = backwards.get((feed.upstream, feed.point))
                if met is not None:
                    _refuse_facing(met.new.a, met.new.b, met.arriving, [feed])
            _refuse_findings(result.findings)
            feeds.extend(result.feeds)
    return feeds


def _mark_led(piece: Piece, made: list[_Lit], feeds: list[Feed]) -> None:
    """Mark legs that now lead to another splitter. Raises: LedAstray, LegNotSpare."""
    for each in made:
        if lead(piece, each.dark.pk).is_onward:
            _serving.lead_onward(_leading.from_point(each.lit.pk).legs)
    above = {feed.leg for each in made for feed in each.arriving}
    _leading.refuse_astray(
        (feed.leg, piece.spots[feed.point])
        for feed in feeds
        if feed.leg is not None and feed.leg in above
    )


def _at_terminals(piece: Piece, feeds: list[Feed]) -> list[tuple[int, int | None]]:
    return [(f.point, f.leg) for f in feeds if piece.spots[f.point].role == Role.TERMINAL]


def _refuse_findings(findings: Iterable[Finding]) -> None:
    for finding in findings:
        name = named_points([finding.point]).get(finding.point, str(finding.point))
        if finding.code == LOOP:
            raise Loop(
                f"This would close a loop: light would come to {name} twice.",
                hint="Check the fibre numbers at both ends of this joint.",
                subjects=(finding.point,),
            )
        if finding.code == FACING:
            raise FacingLight(
                f"Light would run into {name}, which sends light itself.",
                hint="Only one end of a path is a PON port. Check that these are the right ends.",
                subjects=(finding.point,),
            )
        raise WrongWay(
            f"Light would enter a splitter by {name}.",
            hint="The feeder belongs on the splitter's input. Swap the two sides.",
            subjects=(finding.point,),
        )


def _refuse_clashes(feeds: list[Feed]) -> None:
    """Refuse a channel that comes a second time or meets another of its wavelength."""
    new = {feed.channel for feed in feeds}
    points = {feed.point for feed in feeds}
    present = {
        channel
        for (channel,) in rows(
            f"SELECT DISTINCT channel_id FROM records_feed WHERE {in_ids('point_id')}",
            [ids(points)],
        )
    }
    if not present:
        return
    for channel in sorted(new & present):
        where, subject = _met(channel, points)
        raise SecondPath(
            f"{channel_names([channel])[channel]} already reaches {where} by another path.",
            hint="Part one of the two paths first.",
            subjects=(subject,),
        )
    for one, other, way in clashing(new, present):
        where, subject = _met(other, points)
        names = channel_names([one, other])
        raise SameWavelength(
            f"{names[one]} would meet {names[other]} at {where}: both have the same {way} "
            "wavelength.",
            hint="Declare one of the two channels the standby of the other, or part one.",
            subjects=(subject,),
        )


def _met(channel: int, points: Iterable[int]) -> tuple[str, int]:
    """Return the name and id of one of the points that a channel reaches already."""
    of_channel = "SELECT min(point_id) FROM records_feed WHERE channel_id = %s"
    [[point]] = rows(f"{of_channel} AND {in_ids('point_id')}", [channel, ids(points)])
    return named_points([point])[point], point


def _join_dark(made: list[New], fed: set[int]) -> None:
    """Refuse loops in the dark, and mark legs that now lead to another splitter.

    Of a joint that is fed by now light has said what is wrong, and for which wavelengths.
    """
    beyond = reaches(end.pk for _, *ends in made for end in ends)
    piece = together(beyond.values())
    led: list[tuple[int, Spot]] = []
    for new in made:
        sides = [lead(piece, point.pk) for point in (new.a, new.b)]
        if fed.isdisjoint((new.a.pk, new.b.pk)):
            _refuse_dark(new, beyond, sides)
        for above, below in zip(sides, reversed(sides), strict=True):
            if below.is_onward:
                _serving.lead_onward(above.legs)
            led.extend((leg, spot) for leg in above.legs for spot in below.passed)
    _leading.refuse_astray(led)


def _refuse_dark(new: New, beyond: Mapping[int, Reach], sides: Sequence[Lead]) -> None:
    """Refuse a loop, or that whatever lights one side would run into the other."""
    at_a, at_b = ({spot.id for spot in beyond[end.pk].spots} for end in (new.a, new.b))
    if not at_a.isdisjoint(at_b):  # light from there would come to both and meet
        _refuse_findings([Finding(LOOP, new.a.pk)])
    clashes = [side.clash for side in sides]
    if clashes[0] and clashes[1]:
        _refuse_findings([clashes[1]])


def parted(change: OpenChange, a: int, b: int) -> None:
    """Darken what a joint's parting darkens. Call it while nothing joins the two any more."""
    feeds = _feeds.at_points((a, b))
    if not feeds:
        _serving.no_longer_onward(_leading.from_point(a).legs | _leading.from_point(b).legs)
        return
    upstream, beyond = (a, b) if any(f.point == b and f.upstream == a for f in feeds) else (b, a)
    lost = _feeds.erase_beyond(change, beyond, upstream)
    _serving.darkened(change, lost)
    _serving.no_longer_onward(_leading.from_point(upstream).legs)


def relight(change: OpenChange, channel_ids: Iterable[int]) -> None:
    """Recompute the whole trees of some channels and write what differs."""
    for channel in light_channels(channel_ids).values():
        _relight_one(change, channel)


def _relight_one(change: OpenChange, channel: Channel) -> None:
    piece = tree(channel)
    start = source(channel)
    result = spread(piece, channel, start)
    _refuse_findings(result.findings)
    wanted = {feed.point: feed for feed in (start, *result.feeds)}
    stored = {feed.point: feed for feed in _feeds.of_channel(channel.id, channel.point)}
    lost = [feed for point, feed in stored.items() if point not in wanted]
    fresh = [feed for point, feed in wanted.items() if point not in stored]
    shifted = [feed for point, feed in wanted.items() if stored.get(point, feed) != feed]
    _refuse_clashes(fresh)
    _feeds.erase(change, ((feed.point, channel.id) for feed in lost))
    _feeds.write(change, fresh + shifted)
    _serving.darkened(change, _terminals(lost))
    _serving.lit(change, _terminals(fresh))


def _terminals(feeds: list[Feed]) -> list[tuple[int, int | None]]:
    """Return the (point, leg) of those feeds that are at terminal ports."""
    if not feeds:
        return []
    points = {feed.point for feed in feeds}
    found = Point.objects.filter(pk__in=points, role=Role.TERMINAL).values_list("pk", flat=True)
    at_terminals = set(found)
    return [(feed.point, feed.leg) for feed in feeds if feed.point in at_terminals]


def darken(change: OpenChange, channel_id: int, point_id: int) -> None:
    """Take away all light of a channel."""
    stored = _feeds.of_channel(channel_id, point_id)
    _feeds.erase(change, ((feed.point, channel_id) for feed in stored))
    _serving.darkened(change, _terminals(stored))


def channels_at(point_ids: Iterable[int]) -> set[int]:
    """Return the channels that light any of these points."""
    return {feed.channel for feed in _feeds.at_points(point_ids)}
