"""The tree of each feeder: from the PON port over the splitters to the homes, as drawn lines.

Splitters of this place show all of their legs, those elsewhere only the legs that lead here.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby

from reportlab.platypus import Flowable

from records.handover.figures import number
from records.handover.pack.grid import Cell, Column, Grid, Row, row
from records.handover.pack.pages import Paragraph, heading
from records.handover.pack.told import Told
from records.handover.pack.words import NONE, verdict_of
from records.models import Role
from records.queries.as_built import Home
from records.queries.levels import Lit
from records.queries.paths import Hop, Path

ABOUT = "from each PON port down to the homes"

_COLUMNS = (
    Column("Way", 56),
    Column("Home, line", 48),
    Column("State", 14),
    Column("Typical, dBm", 26),
    Column("Verdict", 34),
)


@dataclass(slots=True)
class _Node:
    """A thing on the way: what it is called, what hangs below it by its point or number."""

    text: str
    order: tuple[int, ...] = ()
    levels: dict[int, float] = field(default_factory=dict)
    below: "dict[int, _Node]" = field(default_factory=dict)
    home: str = ""
    state: str = ""
    light: list[Lit] = field(default_factory=list)


def section(told: Told) -> Iterator[Flowable]:
    """Yield a tree for each PON port whose light comes here."""
    roots, channels = _grown(told)
    for port, root in sorted(roots.items(), key=lambda each: (each[1].text, each[0])):
        names = channels[port]
        yield from heading(root.text, told.marks)
        yield Paragraph(
            f"Levels of {', then '.join(names.values())}. {_counted(root)}", size=7.6, after=3
        )
        yield Grid(_COLUMNS, list(_rows(root, list(names), ())))


def _grown(told: Told) -> tuple[dict[int, _Node], dict[int, dict[int, str]]]:
    """Return the trees by their PON ports, and the names of their channels."""
    roots: dict[int, _Node] = {}
    channels: dict[int, dict[int, str]] = {}
    for home in told.built.homes:
        for path in home.paths:
            port = path.hops[0].spot
            root = roots.get(port.point_id)
            if root is None:
                where = told.names.where_of(path.hops[0])
                text = f"{told.names.owner(path.hops[0])} PON port {port.number}, {where}"
                root = roots[port.point_id] = _Node(text)
            channels.setdefault(port.point_id, {})[path.lit.channel_id] = path.lit.name
            _hang(told, root, home, path)
    return roots, channels


def _hang(told: Told, root: _Node, home: Home, path: Path) -> None:
    """Hang a home below its port, with the splitters between."""
    channel, at = path.lit.channel_id, root
    at.levels[channel] = path.hops[0].level.typical_dbm
    for hop in path.hops:
        splitter = hop.spot.equipment_id
        if hop.spot.role == Role.INPUT and splitter is not None:
            if splitter not in at.below:
                at.below[splitter] = _splitter(told, hop)
            at = at.below[splitter]
        elif hop.spot.role == Role.LEG:
            at = at.below.setdefault(hop.spot.point_id, _leg(hop.spot.number))
            at.state = ""
        else:
            continue
        at.levels[channel] = hop.level.typical_dbm
    end = at.below.setdefault(path.lit.point_id, _home(told, home, path))
    end.levels[channel] = path.lit.level.typical_dbm
    end.light.append(path.lit)


def _splitter(told: Told, hop: Hop) -> _Node:
    kind = told.built.known.equipment[hop.spot.equipment_id or 0].entry
    input_number = f" input {hop.spot.number}" if hop.spot.number > 1 else ""
    where = told.names.where_of(hop)
    text = f"{told.names.owner(hop)} {kind}{input_number}, {where}".removesuffix(", ")
    node = _Node(text)
    for leg in told.built.legs_of(hop.spot.equipment_id):
        node.below[leg.point_id] = _leg(leg.number)
        node.below[leg.point_id].state = leg.condition
        node.below[leg.point_id].home = leg.line
    return node


def _leg(leg_number: int) -> _Node:
    return _Node(f"leg {leg_number}", order=(leg_number,))


def _home(told: Told, home: Home, path: Path) -> _Node:
    place = home.dwelling.place
    states = dict.fromkeys(line.state for line in home.dwelling.lines if line.state)
    lines = ", ".join(line.identifier for line in home.dwelling.lines)
    named = told.names.where(place) if told.names.has_addresses else ""
    return _Node(
        told.names.owner(path.hops[-1]),
        home=", ".join(filter(None, (named, lines))) or told.names.place(place),
        state=", ".join(states) or NONE,
    )


def _counted(root: _Node) -> str:
    homes = sum(1 for each in _all(root) if each.light)
    return f"{homes} {'receiver' if homes == 1 else 'receivers'} of this place hang below."


def _all(node: _Node) -> Iterator[_Node]:
    yield node
    for each in node.below.values():
        yield from _all(each)


def _rows(node: _Node, channels: list[int], trunk: tuple[bool, ...]) -> Iterator[Row]:
    """Yield a node and all below it; a thing alone on a leg stands in the leg's own row."""
    last, text = node, node.text
    if node.order and len(node.below) == 1:
        (last,) = node.below.values()
        text = f"{text}: {last.text}"
    levels = last.levels or node.levels
    yield row(
        Cell(text, trunk=trunk, is_bold=not trunk),
        last.home,
        last.state,
        " / ".join(number(levels[each]) for each in channels if each in levels),
        verdict_of(last.light) if last.light else "",
    )
    yield from _below(last, channels, trunk)


def _below(node: _Node, channels: list[int], trunk: tuple[bool, ...]) -> Iterator[Row]:
    listed = sorted(node.below.values(), key=lambda each: (each.order, each.text))
    groups = [list(group) for _, group in groupby(listed, key=_alike)]
    for index, group in enumerate(groups):
        step = (*trunk, index < len(groups) - 1)
        if len(group) > 1 and not group[0].below:
            first, last = group[0].order[0], group[-1].order[0]
            yield row(Cell(f"legs {first} to {last}", trunk=step), "", group[0].state, "", "")
            continue
        for each in group:
            yield from _rows(each, channels, step)


def _alike(node: _Node) -> tuple[object, ...]:
    """Return what makes neighbouring legs one row: all spare, or all barred, and nothing below."""
    is_idle = bool(node.order) and not node.below and not node.home
    return (node.state,) if is_idle else (id(node),)
