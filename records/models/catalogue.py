"""The catalogue: optical classes, losses and colours, each figure with its source."""

from django.db import models
from django.db.models import Q


class Confidence(models.TextChoices):
    """How far a figure was confirmed. What a person ticked off counts as confirmed."""

    CONFIRMED = "confirmed in text", "confirmed in text"
    SECONDARY = "secondary source agrees", "secondary source agrees"
    MEMORY = "memory only", "memory only"
    PRACTICE = "common practice", "common practice"
    COMPUTED = "computed", "computed"


class Sourced(models.Model):
    """A row of figures that names where they come from."""

    source = models.CharField(max_length=300)
    url = models.CharField(max_length=300, blank=True)
    confidence = models.CharField(max_length=30, choices=Confidence)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        abstract = True


class OpticalClass(models.Model):
    """One technology and loss class, such as GPON B+. Its figures stand by direction."""

    system = models.CharField(max_length=20)
    name = models.CharField(max_length=10)
    reach_m = models.PositiveIntegerField(null=True, blank=True)
    differential_reach_m = models.PositiveIntegerField(null=True, blank=True)
    split_max = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["system", "name"], name="optical_class_is_unique"),
        )

    def __str__(self) -> str:
        return f"{self.system} {self.name}"


class Direction(models.TextChoices):
    """Down is from the OLT to the home, up is back."""

    DOWN = "down", "down"
    UP = "up", "up"


class ClassDirection(Sourced):
    """What a class states for one direction: wavelengths, loss range, both ends' powers."""

    optical_class = models.ForeignKey(
        OpticalClass, on_delete=models.CASCADE, related_name="directions"
    )
    direction = models.CharField(max_length=4, choices=Direction)
    standard = models.CharField(max_length=120)
    wavelength_min_nm = models.PositiveSmallIntegerField()
    wavelength_max_nm = models.PositiveSmallIntegerField()
    line_rate_gbps = models.FloatField()
    loss_min_db = models.FloatField()
    loss_max_db = models.FloatField()
    launch_min_dbm = models.FloatField()
    launch_max_dbm = models.FloatField()
    sensitivity_dbm = models.FloatField()
    overload_dbm = models.FloatField()
    penalty_db = models.FloatField()

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["optical_class", "direction"], name="class_direction_is_unique"
            ),
        )

    def __str__(self) -> str:
        return f"{self.optical_class} {self.direction}"


class EntryKind(models.TextChoices):
    """What a catalogue entry gives the loss of."""

    SPLITTER = "splitter", "splitter"
    TAP = "tap", "tap"
    FIBRE = "fibre", "fibre"
    MATED = "mated", "mated"
    FUSION = "fusion", "fusion"
    MECHANICAL = "mechanical", "mechanical"
    ATTENUATOR = "attenuator", "attenuator"
    COUPLER = "coupler", "coupler"


class CatalogueEntry(models.Model):
    """A type of splitter, fibre, joint, attenuator or coupler. Never edited once in use."""

    kind = models.CharField(max_length=12, choices=EntryKind)
    name = models.CharField(max_length=60)
    version = models.PositiveSmallIntegerField(default=1)
    inputs = models.PositiveSmallIntegerField(default=1)
    outputs = models.PositiveSmallIntegerField(default=1)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        verbose_name_plural = "catalogue entries"
        constraints = (
            models.UniqueConstraint(
                fields=["kind", "name", "version"], name="catalogue_entry_is_unique"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=EntryKind.values), name="catalogue_entry_kind_is_known"
            ),
        )

    def __str__(self) -> str:
        return self.name


class Bound(models.TextChoices):
    """The three values of a loss."""

    LEAST = "least", "least"
    TYPICAL = "typical", "typical"
    MOST = "most", "most"


class Figure(Sourced):
    """One number of an entry: one bound of a loss over a band of wavelengths.

    `value_mdb` is millidecibels, or millidecibels a kilometre for fibre. `branch` is null unless
    the outputs of the entry differ (a tap's through and drop, a coupler's branches).
    """

    entry = models.ForeignKey(CatalogueEntry, on_delete=models.CASCADE, related_name="figures")
    branch = models.PositiveSmallIntegerField(null=True, blank=True)
    bound = models.CharField(max_length=8, choices=Bound)
    wavelength_min_nm = models.PositiveSmallIntegerField()
    wavelength_max_nm = models.PositiveSmallIntegerField()
    value_mdb = models.PositiveIntegerField()

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(wavelength_min_nm__lte=models.F("wavelength_max_nm")),
                name="figure_band_is_ordered",
            ),
        )

    def __str__(self) -> str:
        return f"{self.entry} {self.bound} {self.value_mdb} mdB"


class ColourScheme(models.Model):
    """An order of colours for the fibres and tubes of a cable."""

    name = models.CharField(max_length=40, unique=True)
    standard = models.CharField(max_length=120)
    group_size = models.PositiveSmallIntegerField(default=12)
    note = models.CharField(max_length=400, blank=True)

    def __str__(self) -> str:
        return self.name


class SchemeColour(Sourced):
    """The colour of one position in a scheme; `mark` says how it is told from its twin."""

    scheme = models.ForeignKey(ColourScheme, on_delete=models.CASCADE, related_name="colours")
    element = models.CharField(max_length=5, choices=[("fibre", "fibre"), ("tube", "tube")])
    position = models.PositiveSmallIntegerField()
    colour = models.CharField(max_length=20)
    mark = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["scheme", "element", "position"], name="scheme_colour_is_unique"
            ),
        )

    def __str__(self) -> str:
        return f"{self.scheme} {self.element} {self.position}: {self.colour}"
