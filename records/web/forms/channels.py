"""Forms for channels: light a PON port, darken it, measure its launch."""

from typing import Any

from records.models import Channel
from records.web.forms.fields import FigureField, ThingField, class_field
from records.web.forms.verb_form import Thing, VerbForm


class Light(VerbForm):
    """A PON port lit."""

    verb = "channels.light"
    title = "Light a PON port"
    button = "Light"
    about = (
        "Declare which technology and class a PON port sends, and light all that hangs from it."
    )
    rare = ("standby_for",)

    port = ThingField("PON port", label="PON port")
    optical_class = class_field(label="Technology and class", empty="choose one")
    standby_for = ThingField(
        "channel",
        label="Standby of",
        required=False,
        help_text="The main channel that this one stands in for. Both may reach the same points.",
    )

    def after(self, result: Any) -> Thing | None:
        return "point", self.cleaned_data["port"]


class _OfChannel(VerbForm):
    """A form about one channel, which leads back to its port."""

    channel = ThingField("channel", label="Channel")

    def before(self) -> Thing | None:
        channel = Channel.objects.filter(pk=self.cleaned_data["channel"]).first()
        return ("point", channel.point_id) if channel else None


class Darken(_OfChannel):
    """A channel taken away."""

    verb = "channels.darken"
    title = "Darken a PON port"
    button = "Darken"
    about = "Take a channel and all its light out of the record."
    is_destructive = True


class Measure(_OfChannel):
    """A channel's measured launch."""

    verb = "channels.measure"
    title = "Measured launch"
    button = "Record the launch"
    about = "The level measured at the PON port replaces the range of its class."

    launch_dbm = FigureField("dBm", label="Launch", can_be_negative=True)


class Unmeasure(_OfChannel):
    """A channel's measured launch taken back."""

    verb = "channels.unmeasure"
    title = "Take back a measured launch"
    button = "Take back"
    about = "The range of its class holds for this channel again."
