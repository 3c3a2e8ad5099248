"""Compare the OLT ports of a sheet with what feeds its splitters."""

from collections import defaultdict
from collections.abc import Iterable

from records.intake._chunks import chunked
from records.intake._faults import Findings
from records.intake._keys import name_key
from records.intake._plan import Draft, Kind, pks_of
from records.models import Feed, Point, Role
from records.queries.names import short_name


def note_feeders(drafts: Iterable[Draft], findings: Findings) -> None:
    """Note where a splitter is fed from another port than the row says, or from none yet."""
    listed = [each for each in drafts if each.entry.olt_port and Kind.SPLITTER in each.items]
    ports = _ports(pks_of(listed, Kind.SPLITTER))
    told = set()
    for draft in listed:
        splitter, wanted = draft.items[Kind.SPLITTER], draft.entry.olt_port
        fed_by = ports[splitter.pk or 0]
        if wanted is None or any(_is_port(each, wanted.olt, wanted.number) for each in fed_by):
            continue
        if fed_by:
            names = " and ".join(short_name(each) for each in fed_by)
            findings.fault(
                draft.entry.row,
                "olt_port",
                wanted,
                f"{draft.entry.splitter} is fed by {names} in the record.",
                allowed=f"{names}; or join the splitter anew first.",
            )
        elif splitter.key not in told:
            told.add(splitter.key)
            message = f"{draft.entry.splitter} has no light yet: join its input to {wanted}."
            findings.remark(draft.entry.row, "olt_port", message)


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
