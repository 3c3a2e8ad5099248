"""Compare the OLT ports of a sheet with what feeds its splitters, and note those without light."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from records.intake._chunks import chunked
from records.intake._faults import Findings
from records.intake._keys import name_key
from records.intake._plan import Draft, Key, Kind, pks_of
from records.models import Feed, JointEnd, Point, Role
from records.queries.names import short_name
from records.queries.words import counted


def note_feeders(drafts: Iterable[Draft], findings: Findings) -> None:
    """Note where a splitter is fed from another port than the row says, or from none yet."""
    listed = [each for each in drafts if Kind.SPLITTER in each.items]
    known = pks_of(listed, Kind.SPLITTER)
    ports = _ports(known)
    rows: dict[Key, list[Draft]] = defaultdict(list)
    for draft in listed:
        fed_by = ports[draft.pk(Kind.SPLITTER) or 0]
        if fed_by:
            _note_other_port(draft, fed_by, findings)
        else:
            rows[draft.items[Kind.SPLITTER].key].append(draft)
    joined = _joined(known)
    for dark in rows.values():
        _note_dark(dark, findings, is_joined=dark[0].pk(Kind.SPLITTER) in joined)


def _note_other_port(draft: Draft, fed_by: Sequence[Point], findings: Findings) -> None:
    wanted = draft.entry.olt_port
    if wanted is None or any(_is_port(each, wanted.olt, wanted.number) for each in fed_by):
        return
    names = " and ".join(short_name(each) for each in fed_by)
    findings.fault(
        draft.entry.row,
        "olt_port",
        wanted,
        f"{draft.entry.splitter} is fed by {names} in the record.",
        allowed=f"{names}; or join the splitter anew first.",
    )


def _note_dark(rows: Sequence[Draft], findings: Findings, *, is_joined: bool) -> None:
    """Note once that the homes at a splitter will have no light, and what brings it there."""
    told = next((each for each in rows if each.entry.olt_port), rows[0])
    port, name = told.entry.olt_port, told.entry.splitter
    homes = sum(each.entry.leg is not None for each in rows)
    dark = f"{counted(homes, 'home')} will be dark"
    if is_joined and port is None:
        message = f"{name} gets no light from what it is joined to: {dark} until that is lit."
    else:
        feeder = port or "a PON port, a fibre that brings light, or a leg of another splitter"
        message = f"{name} is fed by nothing: {dark}. Join its input to {feeder}."
    findings.remark(told.entry.row, "olt_port" if port else "splitter", message)


def _joined(splitters: Iterable[int]) -> set[int | None]:
    """Return the splitters of which an input is joined to anything."""
    ends = JointEnd.objects.filter(point__role=Role.INPUT).select_related("point")
    found = chunked(ends, "point__equipment__in", splitters)
    return {end.point.equipment_id for end in found}


def _ports(splitters: Iterable[int]) -> dict[int, list[Point]]:
    """Return the PON ports that light each splitter."""
    inputs = Feed.objects.filter(point__role=Role.INPUT).select_related(
        "point", "channel__point__equipment"
    )
    found: dict[int, dict[int, Point]] = defaultdict(dict)
    for feed in chunked(inputs, "point__equipment__in", splitters):
        if feed.point.equipment_id:
            found[feed.point.equipment_id][feed.channel.point_id] = feed.channel.point
    return defaultdict(list, {pk: list(ports.values()) for pk, ports in found.items()})


def _is_port(port: Point, olt: str, number: int) -> bool:
    name = port.equipment.name if port.equipment else ""
    return port.number == number and (not olt or name_key(olt) == name_key(name))
