"""Verbs for channels: light a PON port, as main or standby; darken; measure, unmeasure."""

from records.changes import _feeds, _light
from records.changes._checks import existing, level_mdbm, refuse_unmeasured
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Refusal
from records.light.spread import source
from records.models import Channel, OpticalClass, Point, Role
from records.queries.catalogue import clashing, light_channels
from records.queries.names import point_name


class ChannelTaken(Refusal):
    """A channel that would clash with another at the same port."""

    code = "channel_taken"


class StandbyUnfit(Refusal):
    """A standby of a channel that can't have it."""

    code = "standby_unfit"


@verb
def light(
    change: OpenChange, port: int, *, optical_class: int, standby_for: int | None = None
) -> Channel:
    """Light a PON port with a technology and class, and all that hangs from it.

    With `standby_for` the channel is the standby of that one: both may reach the same points.
    Raises: Malformed, Missing, ChannelTaken, StandbyUnfit, and what light refuses.
    """
    point = _pon_port(port)
    wanted = existing(OpticalClass.objects, optical_class, field="optical_class")
    main = _main(standby_for, wanted, port)
    if point.channels.filter(optical_class=wanted).exists():
        raise ChannelTaken(
            f"{point_name(point)} already has a {wanted} channel.",
            hint="Choose another port or class.",
            field="optical_class",
        )

    channel = Channel.objects.create(point=point, optical_class=wanted, standby_for=main)
    _refuse_clash_at_port(channel, point)
    _feeds.write(change, [source(light_channels([channel.pk])[channel.pk])])
    _light.relight(change, [channel.pk])
    as_standby = " as standby" if main else ""
    change.say(f"lit {point_name(point)} with {wanted}{as_standby}")
    return channel


def _pon_port(port: int) -> Point:
    found = existing(Point.objects.select_related("equipment__place"), port, field="port")
    if found.role != Role.PON:
        raise Malformed(
            f"{point_name(found)} is not a PON port.",
            hint="Choose a port of an OLT.",
            field="port",
        )
    return found


def _main(standby_for: int | None, wanted: OpticalClass, port: int) -> Channel | None:
    if standby_for is None:
        return None
    main = existing(Channel.objects.select_related("point"), standby_for, field="standby_for")
    clash = ""
    if main.standby_for_id is not None:
        clash = "is itself a standby"
    elif Channel.objects.filter(standby_for=main).exists():
        clash = "already has a standby"
    elif main.point_id == port:
        clash = "is at the same port"
    elif main.optical_class_id != wanted.pk:
        clash = "is of another class"
    if clash:
        raise StandbyUnfit(
            f"The {main.optical_class} channel of {point_name(main.point)} {clash}.",
            hint="A main channel has one standby, of the same class, at another port.",
            field="standby_for",
        )
    return main


def _refuse_clash_at_port(channel: Channel, point: Point) -> None:
    others = [each.pk for each in point.channels.exclude(pk=channel.pk)]
    for _one, other, way in clashing([channel.pk], others):
        neighbour = Channel.objects.select_related("optical_class").get(pk=other)
        raise ChannelTaken(
            f"{channel.optical_class} and {neighbour.optical_class} overlap in their {way} "
            f"wavelengths at {point_name(point)}.",
            hint="Choose a class whose wavelengths keep clear of the other's.",
            field="optical_class",
        )


@verb
def darken(change: OpenChange, channel: int) -> None:
    """Take a channel and all its light away. Raises: Missing, StandbyUnfit."""
    found = existing(Channel.objects.select_related("optical_class"), channel, field="channel")
    if Channel.objects.filter(standby_for=found).exists():
        raise StandbyUnfit(
            f"The {found.optical_class} channel has a standby.",
            hint="Take the standby away first.",
            field="channel",
        )
    name = point_name(found.point)
    _light.darken(change, found.pk, found.point_id)
    found.delete()
    change.say(f"darkened {name}, {found.optical_class}")


@verb
def measure(change: OpenChange, channel: int, *, launch_dbm: float) -> Channel:
    """Record the measured launch of a channel, which replaces its class's range.

    Losses don't depend on it, so no feed changes. Raises: Malformed, Missing.
    """
    found = existing(Channel.objects.select_related("optical_class"), channel, field="channel")
    found.launch_mdbm = level_mdbm(launch_dbm, field="launch_dbm")
    Channel.objects.filter(pk=channel).update(launch_mdbm=found.launch_mdbm)
    change.say(f"measured a launch of {launch_dbm:g} dBm at {point_name(found.point)}")
    return found


@verb
def unmeasure(change: OpenChange, channel: int) -> Channel:
    """Take back a channel's measured launch, so that its class's holds. Raises: NotMeasured."""
    found = existing(Channel.objects.select_related("optical_class"), channel, field="channel")
    refuse_unmeasured(found.launch_mdbm, f"The launch at {point_name(found.point)}")
    Channel.objects.filter(pk=channel).update(launch_mdbm=None)
    found.launch_mdbm = None
    change.say(f"took back the measured launch at {point_name(found.point)}")
    return found
