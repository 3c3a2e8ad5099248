"""The plant: equipment, cables, the passages and points they own, and the joints between points.

Light crosses a *passage* from any point on its one side to any point on its other: a fibre from
end to end, an adapter from back to front, a splitter from its inputs to its legs. Everything a
meter can touch is a *point* of a passage, or the lone port of an OLT or a home terminal.
"""

from django.db import models
from django.db.models import Q

from records.models.catalogue import CatalogueEntry, ColourScheme, OpticalClass
from records.models.kept import kept
from records.models.places import Place


class EquipmentKind(models.TextChoices):
    """Kinds of equipment."""

    OLT = "olt", "OLT"
    SPLITTER = "splitter", "splitter"
    PANEL = "panel", "panel"
    CLOSURE = "closure", "closure"
    OUTLET = "outlet", "outlet"
    COUPLER = "coupler", "coupler"
    ATTENUATOR = "attenuator", "attenuator"
    TERMINAL = "terminal", "home terminal"


class Polish(models.TextChoices):
    """End face of a connector. Blank on a point means a bare end, to be spliced."""

    PC = "PC", "PC"
    UPC = "UPC", "UPC"
    APC = "APC", "APC"


class Role(models.TextChoices):
    """What a point is to its equipment or fibre."""

    PON = "pon", "PON port"
    INPUT = "input", "input"
    LEG = "leg", "leg"
    BACK = "back", "back"
    FRONT = "front", "front"
    BRANCH = "branch", "branch"
    COMMON = "common", "common"
    TERMINAL = "terminal", "terminal port"
    A_END = "A end", "A end"
    B_END = "B end", "B end"


FIBRE_ENDS = (Role.A_END, Role.B_END)
LONE_ROLES = (Role.PON, Role.TERMINAL)
"""Points without a passage: light starts or ends there."""


class LegCondition(models.TextChoices):
    """Whether a splitter leg can be promised."""

    SPARE = "spare", "spare"
    HELD = "held", "held"
    LIVE = "live", "live"
    ONWARD = "onward", "onward"
    BARRED = "barred", "barred"


class JointKind(models.TextChoices):
    """How two points are made one."""

    MATED = "mated", "mated connectors"
    FUSION = "fusion", "fusion splice"
    MECHANICAL = "mechanical", "mechanical splice"


@kept("place")
class Equipment(models.Model):
    """A thing with ports that stands in one place.

    `entry` is the type whose losses hold: of a splitter, coupler or attenuator, or of the mated
    pairs inside a panel's or outlet's adapters. `optical_class` is what a home terminal receives.
    """

    kind = models.CharField(max_length=12, choices=EquipmentKind)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="equipment")
    name = models.CharField(max_length=60)
    serial = models.CharField(max_length=60, blank=True)
    entry = models.ForeignKey(
        CatalogueEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="equipment"
    )
    optical_class = models.ForeignKey(
        OpticalClass, on_delete=models.PROTECT, null=True, blank=True, related_name="terminals"
    )

    class Meta:
        verbose_name_plural = "equipment"
        constraints = (
            models.UniqueConstraint(
                fields=["place", "name"],
                name="equipment_name_is_unique_in_its_place",
                violation_error_code="name_taken",
            ),
            models.UniqueConstraint(
                fields=["serial"],
                condition=~Q(serial=""),
                name="equipment_serial_is_unique",
                violation_error_code="serial_taken",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=EquipmentKind.values), name="equipment_kind_is_known"
            ),
        )

    def __str__(self) -> str:
        return self.name


class CableKind(models.TextChoices):
    """A cable is laid between places; a cord patches one or two fibres."""

    CABLE = "cable", "cable"
    CORD = "cord", "patch cord"


@kept("a_place", "b_place")
class Cable(models.Model):
    """A sheath with fibres between two places. `length_cm` is fibre length, not route length."""

    kind = models.CharField(max_length=6, choices=CableKind, default=CableKind.CABLE)
    name = models.CharField(max_length=60)
    a_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="cables_from_here")
    b_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="cables_to_here")
    entry = models.ForeignKey(CatalogueEntry, on_delete=models.PROTECT, related_name="cables")
    colour_scheme = models.ForeignKey(
        ColourScheme, on_delete=models.PROTECT, null=True, blank=True, related_name="cables"
    )
    fibre_count = models.PositiveSmallIntegerField()
    length_cm = models.PositiveIntegerField()
    diameter_mm = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["a_place", "name"],
                name="cable_name_is_unique_at_its_a_place",
                violation_error_code="name_taken",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=CableKind.values), name="cable_kind_is_known"
            ),
            models.CheckConstraint(condition=Q(fibre_count__gte=1), name="cable_has_a_fibre"),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def length_m(self) -> float:
        """Return the fibre length in metres."""
        return self.length_cm / 100


@kept("cable", "equipment")
class Passage(models.Model):
    """What light goes through: a fibre of a cable, or an adapter, splitter and so on.

    `number` is the fibre's number in its cable or the adapter's in its equipment. A measured loss
    replaces the catalogue's three values. `damage` says why a fibre is damaged; blank is sound.
    """

    cable = models.ForeignKey(
        Cable, on_delete=models.PROTECT, null=True, blank=True, related_name="fibres"
    )
    equipment = models.ForeignKey(
        Equipment, on_delete=models.PROTECT, null=True, blank=True, related_name="passages"
    )
    number = models.PositiveSmallIntegerField()
    entry = models.ForeignKey(CatalogueEntry, on_delete=models.PROTECT, related_name="passages")
    length_cm = models.PositiveIntegerField(default=0)
    measured_mdb = models.PositiveIntegerField(null=True, blank=True)
    damage = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(cable__isnull=True) ^ Q(equipment__isnull=True),
                name="passage_has_one_owner",
            ),
            models.UniqueConstraint(fields=["cable", "number"], name="fibre_number_is_unique"),
            models.UniqueConstraint(
                fields=["equipment", "number"], name="passage_number_is_unique"
            ),
        )

    def __str__(self) -> str:
        return f"fibre {self.number}" if self.cable_id else f"passage {self.number}"


class FibreManager(models.Manager["Fibre"]):
    """The passages that are fibres."""

    def get_queryset(self) -> "models.QuerySet[Fibre]":
        """Return the fibres."""
        return super().get_queryset().filter(cable__isnull=False)


class Fibre(Passage):
    """A fibre of a cable: a passage from its A end to its B end."""

    objects = FibreManager()  # type: ignore[misc]  # a proxy may have its own manager

    class Meta:
        proxy = True


@kept("passage", "equipment")
class Point(models.Model):
    """Anywhere a meter could be put: a port, or one end of a fibre.

    `side` is the side of the passage it lies on: 0 for inputs, backs, branches and A ends, 1 for
    legs, fronts, commons and B ends. `condition` and `barred_reason` belong to splitter legs;
    `measured_mdb` is the measured loss from the splitter's input to that very leg.
    """

    passage = models.ForeignKey(
        Passage, on_delete=models.PROTECT, null=True, blank=True, related_name="points"
    )
    equipment = models.ForeignKey(
        Equipment, on_delete=models.PROTECT, null=True, blank=True, related_name="ports"
    )
    role = models.CharField(max_length=8, choices=Role)
    side = models.SmallIntegerField(default=0)
    number = models.PositiveSmallIntegerField()
    polish = models.CharField(max_length=3, choices=Polish, blank=True)
    condition = models.CharField(max_length=6, choices=LegCondition, blank=True)
    barred_reason = models.CharField(max_length=200, blank=True)
    measured_mdb = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(condition=Q(side__in=(0, 1)), name="point_side_is_0_or_1"),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="point_role_is_known"),
            models.CheckConstraint(
                condition=Q(passage__isnull=True) ^ ~Q(role__in=LONE_ROLES),
                name="point_is_lone_or_in_a_passage",
            ),
            models.CheckConstraint(
                condition=Q(equipment__isnull=True) ^ ~Q(role__in=FIBRE_ENDS),
                name="point_is_a_port_or_a_fibre_end",
            ),
            models.CheckConstraint(
                condition=Q(condition="") ^ Q(role=Role.LEG),
                name="point_condition_is_for_legs",
            ),
            models.CheckConstraint(
                condition=Q(condition__in=["", *LegCondition.values]),
                name="point_condition_is_known",
            ),
            models.UniqueConstraint(
                fields=["equipment", "role", "number"], name="port_number_is_unique"
            ),
            models.UniqueConstraint(
                fields=["passage", "role"],
                condition=Q(role__in=FIBRE_ENDS),
                name="fibre_end_is_unique",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_role_display()} {self.number}"

    @property
    def cable(self) -> Cable | None:
        """Return the cable that a fibre end is of; None for a port."""
        return self.passage.cable if self.passage is not None else None

    @property
    def place(self) -> Place:
        """Return where it stands: with its equipment, or at its end of the cable."""
        if self.equipment is not None:
            return self.equipment.place
        if self.cable is None:
            raise ValueError(f"Point {self.pk} belongs to nothing.")
        return self.cable.a_place if self.role == Role.A_END else self.cable.b_place


class PortManager(models.Manager["Port"]):
    """The points that are ports."""

    def get_queryset(self) -> "models.QuerySet[Port]":
        """Return the ports."""
        return super().get_queryset().filter(equipment__isnull=False)


class Port(Point):
    """A socket or tail of an equipment."""

    objects = PortManager()  # type: ignore[misc]  # a proxy may have its own manager

    class Meta:
        proxy = True


@kept("stands_in")
class Joint(models.Model):
    """Exactly two points made one. A measured loss replaces the catalogue's three values."""

    kind = models.CharField(max_length=10, choices=JointKind)
    entry = models.ForeignKey(CatalogueEntry, on_delete=models.PROTECT, related_name="joints")
    stands_in = models.ForeignKey(
        Equipment, on_delete=models.PROTECT, null=True, blank=True, related_name="joints_inside"
    )
    tray = models.CharField(max_length=20, blank=True)
    measured_mdb = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(kind__in=JointKind.values), name="joint_kind_is_known"
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}"


@kept("joint")
class JointEnd(models.Model):
    """One of the two points of a joint. The point is the key: no point is in two joints."""

    point = models.OneToOneField(
        Point, on_delete=models.PROTECT, primary_key=True, related_name="joint_end"
    )
    joint = models.ForeignKey(Joint, on_delete=models.PROTECT, related_name="ends")
    side = models.SmallIntegerField()

    class Meta:
        constraints = (
            models.CheckConstraint(condition=Q(side__in=(1, 2)), name="joint_end_side_is_1_or_2"),
            models.UniqueConstraint(fields=["joint", "side"], name="joint_end_side_is_unique"),
        )

    def __str__(self) -> str:
        return f"end {self.side} of joint {self.joint_id}"
