"""What the owner has settled for labels: the link, the caution, stock, printers' offsets."""

from django.db import models
from django.db.models import Q

from records.models.kept import kept


class Pictogram(models.TextChoices):
    """The sign of a caution at optical ports."""

    TRIANGLE = "triangle", "laser triangle"
    TRIANGLE_PLATE = "triangle_plate", "laser triangle, and the words on a plate"
    STARBURST = "starburst", "starburst without triangle"
    OWN = "own", "a picture of your own"


@kept()
class LabelRules(models.Model):
    """The one row of rules for all labels.

    `host` is where QR codes lead. A QR that doesn't fit its label falls to text, or is refused
    where `requires_qr`. `language` is the tag of language and country, as in `en-AU`, by which the
    caution has its pictogram and words; `signal` and `words` replace the words where the assessor
    wants others, and a `CautionSign` the pictogram.
    """

    host = models.CharField(max_length=120)
    has_upper_case_link = models.BooleanField(default=True)
    has_upper_case_text = models.BooleanField(default=True)
    requires_qr = models.BooleanField(default=False)
    smallest_module_mm = models.DecimalField(max_digits=4, decimal_places=3)
    language = models.CharField(max_length=8)
    signal = models.CharField(max_length=40, blank=True)
    words = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name_plural = "label rules"
        constraints = (
            models.CheckConstraint(condition=Q(id=1), name="label_rules_are_one_row"),
            models.CheckConstraint(
                condition=Q(signal="", words="") | ~Q(signal="") & ~Q(words=""),
                name="label_rules_have_signal_and_words_or_neither",
            ),
        )

    def __str__(self) -> str:
        return f"labels of {self.host}"


@kept()
class CautionSign(models.Model):
    """The one row, if there is one, of the pictogram that replaces the country's on cautions.

    `picture` is that of a sign of one's own: a PNG in base64, as labels/own_sign.py took it in.
    It is a table of its own because a further column of the rules would take their digests from
    the changes that settled them before.
    """

    pictogram = models.CharField(max_length=14, choices=Pictogram)
    picture = models.TextField(blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(condition=Q(id=1), name="caution_sign_is_one_row"),
            models.CheckConstraint(
                condition=Q(pictogram__in=Pictogram.values), name="caution_sign_is_known"
            ),
            models.CheckConstraint(
                condition=Q(picture="") ^ Q(pictogram=Pictogram.OWN),
                name="caution_sign_has_a_picture_where_it_is_its_own",
            ),
        )

    def __str__(self) -> str:
        return f"caution sign: {self.get_pictogram_display()}"


class StockShape(models.TextChoices):
    """What labels come on."""

    SHEET = "sheet", "sheet"
    TAPE = "tape", "tape, cut to length"
    DIE_CUT = "die-cut", "die-cut labels on a roll"


@kept()
class OwnStock(models.Model):
    """Stock that the owner described, in millimetres. `geometry` is JSON with sorted keys."""

    name = models.CharField(max_length=40, unique=True)
    shape = models.CharField(max_length=7, choices=StockShape)
    geometry = models.TextField()

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(shape__in=StockShape.values), name="own_stock_shape_is_known"
            ),
        )

    def __str__(self) -> str:
        return self.name


@kept()
class PrinterOffset(models.Model):
    """How far one printer puts everything to the right and down on one kind of sheet."""

    printer = models.CharField(max_length=60)
    stock = models.CharField(max_length=40)
    right_mm = models.DecimalField(max_digits=4, decimal_places=2)
    down_mm = models.DecimalField(max_digits=4, decimal_places=2)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["printer", "stock"], name="printer_offset_is_one_a_printer_and_sheet"
            ),
        )

    def __str__(self) -> str:
        return f"{self.printer}, {self.stock}"
