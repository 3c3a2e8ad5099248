"""Random changes to the plant keep every law, and refused or previewed ones leave nothing."""

from collections.abc import Callable
from itertools import islice
from typing import Any

from django.db.models import QuerySet
from hypothesis import strategies as st
from hypothesis.stateful import rule

from records.changes import (
    OpenChange,
    bookings,
    cables,
    channels,
    equipment,
    hazards,
    joints,
    lines,
    places,
    readings,
    tags,
)
from records.models import (
    Booking,
    Cable,
    Channel,
    Equipment,
    EquipmentKind,
    HazardStatement,
    Joint,
    LegCondition,
    Line,
    Place,
    Point,
    Reading,
    Role,
)
from records.models.tag_code import candidate
from tests.changes.machine import LENGTHS_M, LOSSES_DB, Machine, free, one, run
from tests.factories import AT, entry, optical_class

PLANT = """
    olt O x3
    splitter S 2:4
    cable F 900 m x3
    flat 1
    flat 2
    flat 3
    O.1 = F.1 = S
    light O.1 GPON B+
    """
POLISHES = st.sampled_from(["APC", "APC", ""])
FLATS = st.sampled_from("123")
CODES = st.sampled_from(list(islice(filter(None, map(candidate, range(0, 32**7, 10**6))), 3)))
PORTS = st.sampled_from(["O.1", "O.2", "O.3"])
_SPLITTERS = [
    ("splitter", "splitter", "1:2"),
    ("splitter", "splitter", "1:4"),
    ("splitter", "splitter", "2:2"),
    ("splitter", "splitter", "2:4"),
    ("splitter", "tap", "90/10"),
]
SPLITTERS = st.sampled_from(_SPLITTERS)
ENTRIES = st.sampled_from(
    [
        *_SPLITTERS,
        ("panel", "mated", "mated pair"),
        ("outlet", "mated", "mated pair"),
        ("attenuator", "attenuator", "5 dB"),
        ("coupler", "coupler", "PON and video"),
        ("coupler", "coupler", "GPON and XG(S)-PON"),
    ]
)


class Crew(Machine):
    """A crew that tries anything anywhere."""

    plant_text = PLANT

    # --- Things --------------------------------------------------------------------------------

    @rule(length_m=LENGTHS_M, a=POLISHES, b=POLISHES, fibre_count=st.integers(1, 2))
    def lay(self, length_m: float, a: str, b: str, fibre_count: int) -> None:
        name = self.name("C")
        self.make(
            lambda change: cables.lay(
                change,
                name=name,
                a_place=self.plant.riser,
                b_place=self.plant.flat("1"),
                length_m=length_m,
                fibre_count=fibre_count,
                a_polish=a,
                b_polish=b,
            )
        )

    @rule(what=ENTRIES, back=POLISHES, polish=POLISHES)
    def install(self, what: tuple[str, str, str], back: str, polish: str) -> None:
        kind, entry_kind, entry_name = what
        name, of_type = self.name("E"), entry(entry_kind, entry_name)
        self.make(
            lambda change: equipment.install(
                change,
                kind=kind,
                place=self.plant.riser,
                name=name,
                entry=of_type,
                polish=polish,
                back_polish=back,
            )
        )

    @rule(data=st.data(), flat=FLATS)
    def connect(self, data: st.DataObject, flat: str) -> None:
        """Bring a leg to a home: terminal and cord in one change."""
        leg, name = one(data, free(role=Role.LEG).exclude(polish="")), self.name("T")

        def do(change: OpenChange) -> None:
            terminal = equipment.install(
                change, kind="terminal", place=self.plant.flat(flat), name=name
            )
            joints.patch(change, leg, terminal.ports.get().pk)

        if leg:
            self.make(do)

    @rule(data=st.data(), what=SPLITTERS)
    def cascade(self, data: st.DataObject, what: tuple[str, str, str]) -> None:
        """Let a leg feed another splitter: splitter and cord in one change."""
        leg, name = one(data, free(role=Role.LEG).exclude(polish="")), self.name("S")
        of_type = entry(*what[1:])

        def do(change: OpenChange) -> None:
            splitter = equipment.install(
                change, kind="splitter", place=self.plant.riser, name=name, entry=of_type
            )
            joints.patch(change, leg, splitter.ports.get(role=Role.INPUT, number=1).pk)

        if leg:
            self.make(do)

    @rule(data=st.data(), flat=FLATS)
    def move_or_remove(self, data: st.DataObject, flat: str) -> None:
        thing = one(data, Equipment.objects.exclude(kind=EquipmentKind.OLT))
        cable = one(data, Cable.objects.all())
        what = data.draw(st.sampled_from(["move", "remove", "remove cable"]))
        if what == "move" and thing:
            self.make(lambda change: equipment.move(change, thing, place=self.plant.flat(flat)))
        elif what == "remove" and thing:
            self.make(lambda change: equipment.remove(change, thing))
        elif cable:
            self.make(lambda change: cables.remove(change, cable))

    # --- Joints --------------------------------------------------------------------------------

    @rule(data=st.data(), kind=st.sampled_from(["mated", "fusion", "mechanical"]))
    def join_any(self, data: st.DataObject, kind: str) -> None:
        a, b = one(data, Point.objects.all()), one(data, Point.objects.all())
        self.make(lambda change: joints.join(change, a, b, kind=kind))

    @rule(data=st.data())
    def join_fitting(self, data: st.DataObject) -> None:
        self._join_fitting(data, one(data, free()), free())

    @rule(data=st.data())
    def join_lit_to_dark(self, data: st.DataObject) -> None:
        lit = one(data, free(feeds__isnull=False).distinct())
        self._join_fitting(data, lit, free(feeds=None))

    @rule(data=st.data())
    def join_lit_to_input(self, data: st.DataObject) -> None:
        lit = one(data, free(feeds__isnull=False).distinct())
        self._join_fitting(data, lit, free(role__in=[Role.INPUT, Role.BRANCH]))

    def _join_fitting(self, data: st.DataObject, a: int | None, others: QuerySet[Point]) -> None:
        if a is None:
            return
        polish = Point.objects.get(pk=a).polish
        b = one(data, others.exclude(pk=a).filter(polish=polish))
        if b is not None:
            kind = "mated" if polish else "fusion"
            self.make(lambda change: joints.join(change, a, b, kind=kind))

    @rule(data=st.data())
    def patch(self, data: st.DataObject) -> None:
        ports = free(equipment__isnull=False).exclude(polish="")
        a, b = one(data, ports), one(data, ports)
        if a and b:
            self.make(lambda change: joints.patch(change, a, b))

    @rule(data=st.data())
    def part(self, data: st.DataObject) -> None:
        joint = one(data, Joint.objects.all())
        if joint:
            self.make(lambda change: joints.part(change, joint))

    @rule(data=st.data(), loss_db=LOSSES_DB, length_m=st.none() | LENGTHS_M)
    def measure(self, data: st.DataObject, loss_db: float, length_m: float | None) -> None:
        joint, cable = one(data, Joint.objects.all()), one(data, Cable.objects.all())
        leg = one(data, Point.objects.filter(role=Role.LEG))
        what = data.draw(st.sampled_from(["joint", "leg", "fibre"]))
        if what == "joint" and joint:
            self.make(lambda change: joints.measure(change, joint, loss_db=loss_db))
        elif what == "leg" and leg:
            self.make(lambda change: bookings.measure(change, leg, loss_db=loss_db))
        elif cable:
            self.make(
                lambda change: cables.measure(
                    change,
                    cable,
                    fibre=1,
                    length_m=length_m,
                    loss_db=None if length_m else loss_db,
                )
            )

    # --- Promises ------------------------------------------------------------------------------

    @rule(data=st.data())
    def book(self, data: st.DataObject) -> None:
        leg = one(data, Point.objects.filter(role=Role.LEG))
        line = one(data, Line.objects.all())
        if leg:
            self.make(lambda change: bookings.book(change, leg, line=line))

    @rule(data=st.data())
    def release(self, data: st.DataObject) -> None:
        leg = one(data, Booking.objects.open(), "leg_id")
        if leg:
            self.make(lambda change: bookings.release(change, leg))

    @rule(data=st.data())
    def bar(self, data: st.DataObject) -> None:
        leg = one(data, Point.objects.filter(role=Role.LEG))
        if leg:
            self.make(lambda change: bookings.bar(change, leg, why="broken tail"))

    @rule(data=st.data())
    def unbar(self, data: st.DataObject) -> None:
        leg = one(data, Point.objects.filter(condition=LegCondition.BARRED))
        if leg:
            self.make(lambda change: bookings.unbar(change, leg))

    # --- Light ---------------------------------------------------------------------------------

    @rule(port=PORTS, name=st.sampled_from(["GPON B+", "GPON C+", "XGS-PON N1"]))
    def light(self, port: str, name: str) -> None:
        self.make(
            lambda change: channels.light(
                change, self.plant[port], optical_class=optical_class(name)
            )
        )

    @rule(data=st.data(), port=PORTS)
    def light_standby(self, data: st.DataObject, port: str) -> None:
        main = Channel.objects.filter(pk=one(data, Channel.objects.all())).first()
        if main:
            self.make(
                lambda change: channels.light(
                    change,
                    self.plant[port],
                    optical_class=main.optical_class_id,
                    standby_for=main.pk,
                )
            )

    @rule(data=st.data())
    def darken(self, data: st.DataObject) -> None:
        channel = one(data, Channel.objects.all())
        if channel:
            self.make(lambda change: channels.darken(change, channel))

    # --- Chores --------------------------------------------------------------------------------

    @rule(data=st.data(), flat=FLATS)
    def chore(self, data: st.DataObject, flat: str) -> None:
        name = self.name("Court ")
        place, point = one(data, Place.objects.all()), one(data, Point.objects.all())
        inner = one(data, Place.objects.filter(depth__gte=3))
        thing, cable = one(data, Equipment.objects.all()), one(data, Cable.objects.all())
        reading = one(data, Reading.objects.all())
        leg = one(data, Point.objects.filter(role=Role.LEG))
        joint, channel = one(data, Joint.objects.all()), one(data, Channel.objects.all())
        code = data.draw(CODES)
        statement = one(data, HazardStatement.objects.all())
        chores: list[Callable[[OpenChange], Any]] = [
            lambda change: places.rename(change, place, name=name),
            lambda change: places.add(change, kind="flat", name=name, parent=place),
            lambda change: places.retire(change, inner),
            lambda change: places.reinstate(change, inner),
            lambda change: equipment.rename(change, thing or 0, name=name),
            lambda change: cables.rename(change, cable or 0, name=name),
            lambda change: cables.damage(change, cable or 0, fibre=1, why="crushed"),
            lambda change: cables.mend(change, cable or 0, fibre=1),
            lambda change: cables.unmeasure(change, cable or 0, fibre=1),
            lambda change: joints.unmeasure(change, joint or 0),
            lambda change: bookings.unmeasure(change, leg),
            lambda change: channels.measure(change, channel or 0, launch_dbm=3.1),
            lambda change: channels.unmeasure(change, channel or 0),
            lambda change: tags.issue(change, count=1, candidates=[code]),
            lambda change: tags.bind(change, code, noun="place", thing=place),
            lambda change: tags.void(change, code, why="torn"),
            lambda change: hazards.state(
                change, place, hazard_level="1M", assessor="A. Assessor", stated_date=AT.date()
            ),
            lambda change: hazards.withdraw(change, statement or 0, why="assessed anew"),
            lambda change: lines.open(change, place=self.plant.flat(flat)),
            lambda change: readings.read(change, point, wavelength_nm=1490, level_dbm=-21.5),
            lambda change: readings.read_all(change, [_at(point, -9.5), _at(point, None)]),
            lambda change: readings.take_back(change, reading or 0),
        ]
        self.make(data.draw(st.sampled_from(chores)))


def _at(point: int, level_dbm: float | None) -> readings.Measured:
    return readings.Measured(point=point, wavelength_nm=1310, level_dbm=level_dbm)


def test_random_changes_keep_every_law(db):
    run(Crew, examples=25)
