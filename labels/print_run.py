"""What a run of labels yields: a file, or pictures, and what the person should know of it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from labels.design import Label, LabelSettings
from labels.drawing import Drawing
from labels.layout import lay_out
from labels.refusals import LabelRefusal
from labels.stock import Face
from records.models.tag_code import grouped


class NothingToPrintError(LabelRefusal):
    """A print run without a label."""

    code = "labels_none"


@dataclass(frozen=True, slots=True)
class Printed:
    """A print run's file. `notes` say once each what was left out and why."""

    content: bytes
    pages: int
    labels: int
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """Labels as an SVG for the screen, with the notes of those that it shows."""

    svg: str
    notes: tuple[str, ...]


@dataclass(slots=True)
class Run:
    """Lay labels out one after the other, so that a long run needs little memory.

    Count and notes grow as the drawings are taken.
    """

    labels: Iterable[Label]
    face: Face
    settings: LabelSettings
    count: int = 0
    _notes: dict[str, None] = field(default_factory=dict)

    def drawings(self) -> Iterator[Drawing]:
        """Yield the drawing of each label.

        Raises: LabelRefusal of the label at fault; NothingToPrintError at the end of none.
        """
        for label in self.labels:
            self.count += 1
            try:
                drawing = lay_out(label, self.face, self.settings)
            except LabelRefusal as refusal:
                raise refusal.about(f"Label {self.count}, {_named(label)}") from refusal
            self._notes.update(dict.fromkeys(drawing.notes))
            yield drawing
        if not self.count:
            raise NothingToPrintError("There is no label to print.", "Choose what to print.")

    @property
    def notes(self) -> tuple[str, ...]:
        """What was said of the labels so far, once each."""
        return tuple(self._notes)


def _named(label: Label) -> str:
    """Name a label by its kind, its code and its first field."""
    code = grouped(label.code) if label.code else ""
    first = label.fields[0][1] if label.fields else ""
    return " ".join(word for word in (label.kind.title.lower(), code, first) if word)
