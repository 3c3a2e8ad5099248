"""What stands while a sheet is being built: the things of its rows, and their ports."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from records.intake._chunks import CHUNK
from records.intake._plan import Key, Kind, Plan, RowPlan
from records.models import Point, Role


class Port(NamedTuple):
    """A port or a fibre's end: its number in the record, and its connector if it has one."""

    pk: int
    polish: str


@dataclass(slots=True)
class Site:
    """What stands so far: the number in the record of each key, found or just built.

    `rows` are those being built.
    """

    plan: Plan
    standing: dict[Key, int]
    rows: Sequence[RowPlan] = ()
    _ports: dict[tuple[Kind, int], dict[tuple[str, int], Port]] = field(default_factory=dict)

    @classmethod
    def of(cls, plan: Plan) -> "Site":
        """Return the site before anything of the plan is built."""
        found = (item for row in plan.rows for item in row.items)
        return cls(plan, {item.key: item.pk for item in found if item.pk is not None})

    def back_to(self, standing: dict[Key, int]) -> None:
        """Forget what was built since only that stood."""
        self.standing = standing
        self._ports.clear()

    def pk(self, row: RowPlan, kind: Kind) -> int:
        """Return the number in the record of what a row has of a kind."""
        item = row.item(kind)
        if item is None:
            raise ValueError(f"Row {row.number} has no {kind}.")
        return self.standing[item.key]

    def place(self, key: Key) -> int:
        """Return the number in the record of a place, by its key."""
        kind, pk = key[0], key[-1]
        return pk if kind == "place" and isinstance(pk, int) else self.standing[key]

    def port(self, row: RowPlan, kind: Kind, role: Role, number: int = 1) -> Port:
        """Return a port, or a fibre's end; those of a kind are read for all rows at once."""
        pk = self.pk(row, kind)
        if (kind, pk) not in self._ports:
            self._read_ports(kind)
        return self._ports[kind, pk][role, number]

    def _read_ports(self, kind: Kind) -> None:
        owner = "passage__cable" if kind == Kind.CABLE else "equipment"
        items = (row.item(kind) for row in self.rows)
        standing = {self.standing[item.key] for item in items if item is not None}
        wanted = [pk for pk in sorted(standing) if (kind, pk) not in self._ports]
        for start in range(0, len(wanted), CHUNK):
            found = Point.objects.filter(**{f"{owner}__in": wanted[start : start + CHUNK]})
            for pk, role, number, *port in found.values_list(
                owner, "role", "number", "pk", "polish"
            ):
                self._ports.setdefault((kind, pk), {})[role, number] = Port(*port)
