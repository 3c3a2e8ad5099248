"""The one family of errors that labels raise for what a person asked.

LabelRefusal
    LabelError              design.py        unknown kind or field, a code that is missing
    MissingGlyphError       typefaces.py     a character no embedded font can draw
    TextTooLongError        text_fit.py      text that is not legible in the room it has
    LinkError               qr.py            a host or a link that no QR carries
    ModuleTooSmallError     qr.py            a QR under the smallest module
    StockError              stock.py         geometry that can't be printed
    CableSizeError          cable_layout.py  a cable that the label can't go around
    PictogramError          own_sign.py      a pictogram there isn't, a picture that can't be one
    CautionError            owner.py         a country that no caution is known for
    NothingToPrintError     print_run.py     a run without a label
    PictureError            orders.py        pictures of stock that goes through a page printer
"""

from typing import ClassVar, Self


class LabelRefusal(Exception):  # noqa: N818 - the trade's word; its subclasses say Error
    """Say what can't be printed, why, with the figure, and what to do instead."""

    code: ClassVar[str]

    def __init__(self, message: str, hint: str) -> None:
        super().__init__(f"{message} {hint}")
        self.message = message
        self.hint = hint

    def about(self, subject: str) -> Self:
        """Return the same refusal, saying first which of many it is about."""
        return type(self)(f"{subject}: {self.message}", self.hint)
