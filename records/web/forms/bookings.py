"""Forms for bookings: book, release, bar, unbar, measure a leg."""

from typing import Any

from records.queries import near
from records.web.forms.fields import FigureField, ThingField, WordField
from records.web.forms.verb_form import Thing, VerbForm


class _OfLeg(VerbForm):
    """A form about one splitter leg, whose page it leads back to."""

    leg = ThingField("leg", label="Leg")

    def after(self, result: Any) -> Thing | None:
        return "point", self.cleaned_data["leg"]


class Book(_OfLeg):
    """A leg promised to a line."""

    verb = "bookings.book"
    title = "Book a leg"
    button = "Book"
    about = "Promise a spare leg to a line. It is held until the dwelling's terminal is lit by it."

    line = ThingField("line", label="Line")

    def nearby(self, name: str) -> list[int]:
        leg, line = self.chosen("leg"), self.chosen("line")
        if name == "leg":
            return near.spare_legs_for(line) if line else []
        return near.unbooked_lines_near(leg) if leg else []


class Move(VerbForm):
    """A booking moved to another leg."""

    verb = "bookings.move"
    title = "Move to another leg"
    button = "Move"
    about = "Move a dwelling to another leg: its booking, and what is joined to the old leg."

    leg = ThingField("leg", label="From leg")
    to = ThingField("leg", label="To leg")

    def nearby(self, name: str) -> list[int]:
        leg = self.chosen("leg")
        return near.spare_legs_beside(leg) if name == "to" and leg else []

    def after(self, result: Any) -> Thing | None:
        return "point", self.cleaned_data["to"]


class Release(_OfLeg):
    """A booking ended."""

    verb = "bookings.release"
    title = "Release a leg"
    button = "Release"
    about = "End the booking of a leg: its line has no leg then."
    is_destructive = True


class Bar(_OfLeg):
    """A leg withheld."""

    verb = "bookings.bar"
    title = "Bar a leg"
    button = "Bar"
    about = "Keep a faulty or withheld leg from being booked."

    why = WordField(label="What is wrong with it", max_length=200)


class Unbar(_OfLeg):
    """A barred leg made spare."""

    verb = "bookings.unbar"
    title = "Unbar a leg"
    button = "Unbar"
    about = "Make a barred leg spare again."


class Measure(_OfLeg):
    """A leg's loss from the test sheet."""

    verb = "bookings.measure"
    title = "Measured loss of a leg"
    button = "Record the loss"
    about = "The loss from the splitter's input to this leg, from its test sheet."

    loss_db = FigureField("dB", label="Loss")


class Unmeasure(_OfLeg):
    """A leg's measured loss taken back."""

    verb = "bookings.unmeasure"
    title = "Take back a leg's measured loss"
    button = "Take back"
    about = "The figures of the splitter's type hold for this leg again."
