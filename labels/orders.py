"""A print order: labels on stock by the owner's rules, and the file that comes of it."""

import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from hashlib import sha256
from typing import Final, Self
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from labels.design import Label, LabelSettings, label
from labels.owner import settled
from labels.print_run import Picture, Printed
from labels.refusals import LabelRefusal
from labels.roll_pdf import roll_pdf
from labels.roll_png import roll_png
from labels.roll_svg import roll_svg
from labels.sheet_pdf import sheet_pdf
from labels.sheet_svg import sheet_svg
from labels.shelf import Stock, as_geometry, offset_of, stock, stock_from
from labels.stock import NO_OFFSET, Offset, Sheet
from records.changes.prints import Setting
from records.models import PrintFile, PrintRun
from records.models.prints import as_json

ON_A_STRIP: Final = 12
"""Labels of a roll that one picture shows."""

_ZIP_EPOCH: Final = (1980, 1, 1, 0, 0, 0)
"""The earliest day a ZIP file can hold; the real one would make every file another."""


class PictureError(LabelRefusal):
    """Pictures asked of stock that goes through a page printer."""

    code = "label_pictures"


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """How labels are printed. `start` and `offset` are for sheets."""

    stock: Stock
    settings: LabelSettings
    file: str = PrintFile.PDF
    start: int = 1
    offset: Offset = NO_OFFSET
    has_outlines: bool = False

    @property
    def per_picture(self) -> int:
        """Return how many labels `picture` shows at a time."""
        return self.stock.per_sheet if isinstance(self.stock, Sheet) else ON_A_STRIP

    def without_picture(self) -> Self:
        """Return the order for labels that don't show the owner's own pictogram.

        So only the runs that show it keep it.
        """
        return replace(self, settings=replace(self.settings, own_picture=""))

    def pictures(self, label_count: int) -> int:
        """Return how many pictures show so many labels."""
        before = self.start - 1 if isinstance(self.stock, Sheet) else 0
        return -(-(label_count + before) // self.per_picture)


def ordered(
    stock_id: str,
    *,
    printer: str = "",
    right_mm: float = 0,
    down_mm: float = 0,
    file: str = PrintFile.PDF,
    start: int = 1,
    has_outlines: bool = False,
) -> Order:
    """Return an order by the owner's rules, moved by what is stored for a printer and more.

    Raises: StockError, LabelError.
    """
    stored = offset_of(printer, stock_id)
    return Order(
        stock=stock(stock_id),
        settings=settled(),
        file=file,
        start=start,
        offset=_kept(Offset(stored.x_mm + right_mm, stored.y_mm + down_mm)),
        has_outlines=has_outlines,
    )


def _kept(offset: Offset) -> Offset:
    """Return an offset as a run keeps it."""
    in_mm = (Decimal(str(each)) for each in (offset.x_mm, offset.y_mm))
    return Offset(*(float(each.quantize(Decimal("0.01"))) for each in in_mm))


def printed(labels: Sequence[Label], order: Order) -> Printed:
    """Return the file of an order: PDF, or a ZIP of 1-bit pictures, the same bytes every time.

    Raises: LabelRefusal; then nothing is printed.
    """
    if isinstance(order.stock, Sheet):
        if order.file == PrintFile.PNG:
            raise PictureError(
                f"Pictures are for rolls; {order.stock.id} is a sheet.", "Choose PDF, or a roll."
            )
        return sheet_pdf(
            labels,
            order.stock,
            order.settings,
            start=order.start,
            offset=order.offset,
            has_outlines=order.has_outlines,
        )
    if order.file == PrintFile.PDF:
        return roll_pdf(labels, order.stock, order.settings)
    pictures = roll_png(labels, order.stock, order.settings)
    return Printed(_zipped(pictures.images), len(labels), len(labels), pictures.notes)


def picture(labels: Sequence[Label], order: Order, page: int = 0) -> Picture:
    """Return an SVG of one sheet, or of a strip of a roll. Raises: LabelRefusal."""
    if isinstance(order.stock, Sheet):
        return sheet_svg(
            labels, order.stock, order.settings, start=order.start, offset=order.offset, page=page
        )
    first = page * ON_A_STRIP
    return roll_svg(labels[first : first + ON_A_STRIP], order.stock, order.settings)


def setting_of(order: Order, content: bytes) -> Setting:
    """Return an order as a run keeps it."""
    return Setting(
        stock=as_geometry(order.stock),
        rules=as_json(asdict(order.settings)),
        digest=digest(content),
        file=order.file,
        start=order.start,
        right_mm=Decimal(str(order.offset.x_mm)),
        down_mm=Decimal(str(order.offset.y_mm)),
        has_outlines=order.has_outlines,
    )


def order_of(run: PrintRun) -> Order:
    """Return the order that a run was printed by."""
    return Order(
        stock=stock_from(run.stock),
        settings=LabelSettings(**json.loads(run.rules)),
        file=run.file,
        start=run.start,
        offset=Offset(float(run.right_mm), float(run.down_mm)),
        has_outlines=run.has_outlines,
    )


def labels_of(run: PrintRun) -> Iterator[Label]:
    """Yield the labels of a run as they were printed."""
    for row in run.labels.order_by("position").select_related("tag"):
        yield label(
            row.kind,
            code=row.tag.code if row.tag else "",
            diameter_mm=None if row.diameter_mm is None else float(row.diameter_mm),
            **row.fields,
        )


def reprinted(run: PrintRun) -> Printed:
    """Return the file of a run anew: the same bytes, as long as the program draws alike."""
    return printed(list(labels_of(run)), order_of(run))


def digest(content: bytes) -> str:
    """Return what tells one file from another."""
    return sha256(content).hexdigest()


def _zipped(images: Sequence[bytes]) -> bytes:
    stream = io.BytesIO()
    with ZipFile(stream, "w", ZIP_DEFLATED) as archive:
        for number, image in enumerate(images, start=1):
            archive.writestr(ZipInfo(f"label-{number:05d}.png", _ZIP_EPOCH), image)
    return stream.getvalue()
