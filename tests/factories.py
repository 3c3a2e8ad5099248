"""Plants for tests, written as text and built by the verbs.

So no test starts from a state that the product could not reach.

    olt O x2                        OLT with two PON ports; stands in the head-end
    splitter S 1:4                  splitter of that type; stands in the riser
    panel P x12, closure K, attenuator A 5 dB, coupler W PON and video
    outlet U @1, terminal T @1      stand in flat 1, which is added with its line
    cable F 1200 m x12, cord C 2 m  cable or cord with that many fibres
    flat 9                          a flat without equipment
    light O.1 GPON B+               a channel
    light O.2 GPON B+ standby O.1   its standby
    book S.3 for 1                  a booking of leg 3 for the line of flat 1
    bar S.4 broken tail
    O.1 = F.1 = S                   a chain from the OLT on: `=` mates, `~` splices by fusion,
    S.3 = D ~ U - T                 `-` patches with a cord

In a chain `F.2` is fibre 2 from A to B end, `P.2` adapter 2 from back to front, `S` and `S.in2` a
splitter's inputs, `S.3` its leg 3. Without a number the first is meant. What is spliced ends
bare, all else in APC connectors. Statements run from top to bottom.
"""

import copy
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any, NamedTuple

from django.conf import settings
from django.contrib.auth import get_user_model

from records import changes
from records.changes import (
    OpenChange,
    bookings,
    cables,
    catalogue,
    channels,
    equipment,
    joints,
    places,
)
from records.models import (
    CatalogueEntry,
    Channel,
    EquipmentKind,
    JointEnd,
    Line,
    OpticalClass,
    Point,
)

CATALOGUE = settings.BASE_DIR / "fixtures" / "catalogue"
AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
"""A moment: nothing below the faces has a clock."""


def user(name: str = "crew") -> Any:
    """Return the user of that name."""
    return get_user_model().objects.get_or_create(username=name)[0]


def opened(**options: Any) -> Any:
    """Open a change as the crew, at a fixed moment."""
    return changes.opened(**{"actor": user(), "at": AT, **options})


def load_catalogue() -> None:
    """Load the standards catalogue."""
    with opened(reason="standards") as change:
        catalogue.load(change, CATALOGUE)


def optical_class(name: str) -> int:
    """Return the id of a class such as 'GPON B+'."""
    system, _, own = name.rpartition(" ")
    return OpticalClass.objects.get(system=system, name=own).pk


def entry(kind: str, name: str) -> int:
    """Return the id of a catalogue entry."""
    return CatalogueEntry.objects.get(kind=kind, name=name).pk


class _Thing(NamedTuple):
    kind: str
    pk: int


class Plant:
    """A plant whose things and points are found by the names in its text."""

    def __init__(self, text: str = "") -> None:
        self._things: dict[str, _Thing] = {}
        self._flats: dict[str, int] = {}
        with opened(reason="a plant") as change:
            self.estate = places.add(change, kind="estate", name="Alder Close").pk
            self.head_end = self._place(change, "head-end", "Hut", self.estate)
            self.building = self._place(change, "building", "Block A", self.estate)
            self.riser = self._place(change, "riser cupboard", "Riser", self.building)
            self._build(change, text)

    def copied(self) -> "Plant":
        """Return a plant that can grow while this one stays as it is."""
        return copy.deepcopy(self)

    def grow(self, text: str) -> None:
        """Add what a further text says, in one change."""
        with opened(reason="more plant") as change:
            self._build(change, text)

    def __getitem__(self, name: str) -> int:
        """Return a point's id: `O.1`, `S.in`, `S.3`, `T`, `F.2a`, `F.2b`, `P.1a` (its back)."""
        owner, role, number, side = _parsed(name)
        thing = self._things[owner]
        owned = {"passage__cable": thing.pk} if _is_cable(thing) else {"equipment": thing.pk}
        points = Point.objects.filter(**owned, number=number)
        if side:
            points = points.filter(side="ab".index(side))
        elif thing.kind in {"splitter", "coupler"}:
            points = points.filter(
                role=role or {"splitter": "leg", "coupler": "branch"}[thing.kind]
            )
        return points.get().pk

    def id(self, name: str) -> int:
        """Return the id of an equipment or cable."""
        return self._things[name].pk

    def flat(self, name: str) -> int:
        """Return the id of a flat."""
        return self._flats[name]

    def line(self, flat: str) -> int:
        """Return the id of the first line of a flat."""
        return Line.objects.filter(place=self._flats[flat]).order_by("id")[0].pk

    def joint(self, point: str) -> int:
        """Return the id of the joint at a point."""
        return JointEnd.objects.get(point=self[point]).joint_id

    def channel(self, port: str) -> int:
        """Return the id of the only channel of a PON port."""
        return Channel.objects.get(point=self[port]).pk

    def _build(self, change: OpenChange, text: str) -> None:
        statements = [line.split() for line in text.splitlines() if line.strip()]
        bare = {end for words in statements for end in _spliced(words)}
        for words in statements:
            match words:
                case ["flat", name]:
                    self._flat(change, name)
                case ["cable" | "cord" as kind, name, *details]:
                    self._lay(change, kind, _told(name, details, bare))
                case ["light", port, *details]:
                    self._light(change, port, " ".join(details))
                case ["book", leg, "for", flat]:
                    bookings.book(change, self[leg], line=self.line(flat))
                case ["bar", leg, *why]:
                    bookings.bar(change, self[leg], why=" ".join(why))
                case [kind, name, *details] if kind in EquipmentKind.values:
                    self._install(change, kind, _told(name, details, bare))
                case _:
                    self._chain(change, words)

    @staticmethod
    def _place(change: OpenChange, kind: str, name: str, parent: int) -> int:
        return int(places.add(change, kind=kind, name=name, parent=parent).pk)

    def _flat(self, change: OpenChange, name: str) -> int:
        if name not in self._flats:
            self._flats[name] = self._place(change, "flat", f"Flat {name}", self.building)
        return self._flats[name]

    def _install(self, change: OpenChange, kind: str, told: "_Told") -> None:
        where = self._flat(change, told.flat) if told.flat else self.riser
        installed = equipment.install(
            change,
            kind=kind,
            place=self.head_end if kind == "olt" else where,
            name=told.name,
            entry=entry(kind, told.words) if told.words else None,
            ports=told.size,
            polish=told.b_polish,
            back_polish=told.a_polish,
        )
        self._things[told.name] = _Thing(kind, installed.pk)

    def _lay(self, change: OpenChange, kind: str, told: "_Told") -> None:
        laid = cables.lay(
            change,
            kind=kind,
            name=told.name,
            a_place=self.riser,
            b_place=self.building,
            length_m=float(told.words.removesuffix(" m")),
            fibre_count=told.size,
            a_polish=told.a_polish,
            b_polish=told.b_polish,
        )
        self._things[told.name] = _Thing(kind, laid.pk)

    def _light(self, change: OpenChange, port: str, what: str) -> None:
        name, _, main = what.partition(" standby ")
        standby_for = self.channel(main) if main else None
        channels.light(
            change, self[port], optical_class=optical_class(name), standby_for=standby_for
        )

    def _chain(self, change: OpenChange, words: list[str]) -> None:
        for left, sign, right in _links(words):
            a, b = self[self._leaving(left)], self[self._entering(right)]
            if sign == "-":
                joints.patch(change, a, b)
            else:
                joints.join(change, a, b, kind={"=": "mated", "~": "fusion"}[sign])

    def _leaving(self, token: str) -> str:
        owner, role, number, side = _parsed(token)
        kind = self._things[owner].kind
        if kind == "coupler" and not role:
            return f"{owner}.com"
        return f"{owner}.{number}b" if kind in _TWO_SIDED and not side else token

    def _entering(self, token: str) -> str:
        owner, _role, number, side = _parsed(token)
        kind = self._things[owner].kind
        if kind == "splitter" and token == owner:
            return f"{owner}.in"
        return f"{owner}.{number}a" if kind in _TWO_SIDED and not side else token


_TWO_SIDED = {"cable", "cord", "panel", "outlet", "attenuator"}
_TOKEN = re.compile(r"(?P<owner>\w+)(?:\.(?P<role>in|com)?(?P<number>\d*)(?P<side>[ab]?))?")


def _parsed(token: str) -> tuple[str, str, int, str]:
    match = _TOKEN.fullmatch(token)
    assert match, f"{token} names no thing or point"
    role = {"in": "input", "com": "common"}.get(match["role"], "")
    return match["owner"], role, int(match["number"] or 1), match["side"] or ""


def _is_cable(thing: _Thing) -> bool:
    return thing.kind in {"cable", "cord"}


class _Told(NamedTuple):
    """What stands behind the name of a thing, and how its sides end."""

    name: str
    size: int
    flat: str
    words: str
    a_polish: str
    b_polish: str


def _told(name: str, details: list[str], bare: set[str]) -> _Told:
    size, flat, rest = 1, "", []
    for word in details:
        if re.fullmatch(r"x\d+", word):
            size = int(word[1:])
        elif word.startswith("@"):
            flat = word[1:]
        else:
            rest.append(word)
    a_polish, b_polish = ("" if f"{name} {side}" in bare else "APC" for side in "ab")
    return _Told(name, size, flat, " ".join(rest), a_polish, b_polish)


def _links(words: list[str]) -> Iterator[tuple[str, str, str]]:
    signs = words[1::2]
    assert len(words) >= 3
    assert len(words) % 2 == 1
    assert set(signs) <= {"=", "~", "-"}, f"'{' '.join(words)}' is no statement known here"
    for (left, right), sign in zip(pairwise(words[::2]), signs, strict=True):
        yield left, sign, right


def _spliced(words: list[str]) -> Iterator[str]:
    """Return the sides of things that a chain splices: what it leaves by b and enters by a."""
    if "~" not in words:
        return
    for left, sign, right in _links(words):
        if sign == "~":
            yield f"{_parsed(left)[0]} b"
            yield f"{_parsed(right)[0]} a"
