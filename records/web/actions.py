"""What can be done with a thing as it is now: the verbs offered on its page.

Only what could succeed is offered; whether it does is for the verb to say.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import reverse

from records.models import (
    BookingState,
    Cable,
    CableKind,
    Equipment,
    EquipmentKind,
    LegCondition,
    Place,
    PlaceKind,
    Point,
    Role,
)
from records.queries.buildings import Dwelling
from records.queries.lines import LineAnswer
from records.queries.points import PointAt
from records.web.links import do_url


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """A verb's form, filled in as far as the page knows. The main one stands out."""

    label: str
    url: str
    is_main: bool = False


def at_point(at: PointAt) -> Iterator[Action]:
    """Yield what can be done at a point."""
    point = at.point
    yield from _at_leg(at)
    yield Action(label="Read a level", url=do_url("readings.read", point=point.pk), is_main=True)
    if at.joined is not None:
        joint = at.joined.joint.pk
        yield Action(label="Part", url=do_url("joints.part", joint=joint))
        yield Action(label="Measure the joint", url=do_url("joints.measure", joint=joint))
        if at.joined.measured_loss_db is not None:
            url = do_url("joints.unmeasure", joint=joint)
            yield Action(label="Take back the joint's loss", url=url)
    else:
        yield Action(label="Join", url=do_url("joints.join", a=point.pk))
        if point.equipment_id is not None and point.polish:
            yield Action(label="Patch", url=do_url("joints.patch", a=point.pk))
    if point.role == Role.PON:
        yield Action(label="Light a channel", url=do_url("channels.light", port=point.pk))
        yield from _on_channels(point)
    yield from _labels("point", point.pk)


def _at_leg(at: PointAt) -> Iterator[Action]:
    leg = at.point.pk
    if at.point.role != Role.LEG:
        return
    if at.point.condition == LegCondition.SPARE:
        yield Action(label="Book", url=do_url("bookings.book", leg=leg), is_main=True)
        yield Action(label="Bar", url=do_url("bookings.bar", leg=leg))
    if at.point.condition == LegCondition.BARRED:
        yield Action(label="Unbar", url=do_url("bookings.unbar", leg=leg))
    if at.booking_state == BookingState.HELD:
        yield Action(label="Release", url=do_url("bookings.release", leg=leg))
    if at.booking_state:
        yield Action(label="Move to another leg", url=do_url("bookings.move", leg=leg))
    yield Action(label="Measure the leg", url=do_url("bookings.measure", leg=leg))
    if at.point.measured_mdb is not None:
        yield Action(label="Take back the leg's loss", url=do_url("bookings.unmeasure", leg=leg))


def _on_channels(port: Point) -> Iterator[Action]:
    for channel in port.channels.select_related("optical_class").order_by("pk"):
        name, pk = channel.optical_class, channel.pk
        measure = do_url("channels.measure", channel=pk)
        yield Action(label=f"Measure the launch of {name}", url=measure)
        if channel.launch_mdbm is not None:
            url = do_url("channels.unmeasure", channel=pk)
            yield Action(label=f"Take back the launch of {name}", url=url)
        yield Action(label=f"Darken {name}", url=do_url("channels.darken", channel=pk))


def on_equipment(equipment: Equipment) -> Iterator[Action]:
    """Yield what can be done with an equipment."""
    pk = equipment.pk
    yield Action(label="Move", url=do_url("equipment.move", equipment=pk))
    yield Action(
        label="Rename",
        url=do_url("equipment.rename", equipment=pk, name=equipment.name, serial=equipment.serial),
    )
    if equipment.kind != EquipmentKind.CLOSURE:
        yield Action(label="Swap for a new one", url=do_url("swaps.swap", equipment=pk))
    yield Action(label="Remove", url=do_url("equipment.remove", equipment=pk))
    if equipment.kind in {EquipmentKind.SPLITTER, EquipmentKind.OLT}:
        yield from _light("equipment", pk)
    yield from _labels("equipment", pk)


def at_place(place: Place, dwelling: Dwelling | None = None) -> Iterator[Action]:
    """Yield what can be done in a place; a dwelling's lines without a leg come first."""
    if place.retired:
        yield Action(label="Reinstate", url=do_url("places.reinstate", place=place.pk))
        yield from _labels("place", place.pk)
        return
    for line in dwelling.lines if dwelling else ():
        if line.leg_id is None:
            book = do_url("bookings.book", line=line.line_id)
            yield Action(label="Book a leg", url=book, is_main=True)
    yield Action(label="Install equipment", url=do_url("equipment.install", place=place.pk))
    yield Action(label="Lay a cable", url=do_url("cables.lay", a_place=place.pk))
    if place.is_dwelling:
        yield Action(label="Open a line", url=do_url("lines.open", place=place.pk))
    else:
        yield Action(label="Add a place", url=do_url("places.add", parent=place.pk))
    draft = f"{reverse('job-draft')}?place={place.pk}"
    yield Action(label="Plan a job", url=draft, is_main=True)
    yield Action(label="Rename", url=do_url("places.rename", place=place.pk, name=place.name))
    if place.kind == PlaceKind.BUILDING:
        renumber = do_url("buildings.renumber", building=place.pk)
        yield Action(label="Renumber flats", url=renumber)
        whole = do_url("buildings.retire", place=place.pk)
        yield Action(label="Retire with all in it", url=whole)
    elif place.kind != PlaceKind.ESTATE:
        yield Action(label="Retire", url=do_url("places.retire", place=place.pk))
    yield from _light("place", place.pk)
    yield from _labels("place", place.pk)


def on_cable(cable: Cable) -> Iterator[Action]:
    """Yield what can be done with a cable."""
    pk = cable.pk
    yield Action(label="Rename", url=do_url("cables.rename", cable=pk))
    yield Action(label="Measure a fibre", url=do_url("cables.measure", cable=pk))
    yield Action(label="Report damage", url=do_url("cables.damage", cable=pk))
    yield Action(label="Swap for a new one", url=do_url("cable_works.swap", cable=pk))
    yield Action(label="Reroute", url=do_url("cable_works.reroute", cable=pk))
    if cable.kind == CableKind.CABLE:
        yield Action(label="Cut into a closure", url=do_url("cuts.cut", cable=pk))
    yield Action(label="Remove", url=do_url("cables.remove", cable=pk))
    yield from _labels("cable", pk)


def on_line(answer: LineAnswer) -> Iterator[Action]:
    """Yield what can be done with a line."""
    line = answer.line.pk
    if answer.leg_id is None:
        yield Action(label="Book a leg", url=do_url("bookings.book", line=line), is_main=True)
    elif answer.state == BookingState.HELD:
        yield Action(label="Release its leg", url=do_url("bookings.release", leg=answer.leg_id))
    if answer.leg_id is not None:
        yield Action(label="Move to another leg", url=do_url("bookings.move", leg=answer.leg_id))
    yield from _labels("line", line)


def _light(noun: str, thing_id: int) -> Iterator[Action]:
    """Yield the questions about the light below a thing or in a place."""
    yield Action(label="What the readings say", url=reverse("causes", args=[noun, thing_id]))
    yield Action(label="What if", url=reverse("what-if", args=[noun, thing_id]))


def _labels(noun: str, thing_id: int) -> Iterator[Action]:
    """Yield printing a thing's labels, and binding a tag that is there already."""
    yield Action(label="Print a label", url=f"{reverse('print')}?{noun}={thing_id}")
    yield Action(label="Bind a tag", url=do_url("tags.bind", noun=noun, thing=thing_id))
