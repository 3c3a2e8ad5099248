"""What is done to a whole cable: swapped for another, led another way, cut and spliced through."""

from rest_framework import serializers

from api.shapes import Id, Number, Text, VerbShape, Whole
from records.models import JointKind


class SwapCable(VerbShape):
    """What `cable_works.swap` takes."""

    example = {"cable": 3, "length_m": 1260, "fibre_count": 24, "reason": "more fibres needed"}

    cable = Id(help_text="The old cable.")
    length_m = Number(help_text="Of the new cable's fibres, slack included.")
    name = Text(required=False, help_text="The old one's if not given.")
    fibre_count = Whole(required=False, allow_null=True, help_text="As many if not given.")
    entry = Id(required=False, allow_null=True, help_text="The catalogue entry of its fibre.")
    colour_scheme = Id(required=False, allow_null=True)


class RerouteCable(VerbShape):
    """What `cable_works.reroute` takes."""

    example = {"cable": 3, "length_m": 1310, "reason": "road works"}

    cable = Id()
    length_m = Number(help_text="Of the fibre on its new way, slack included.")
    a_place = Id(required=False, allow_null=True, help_text="Where its A end goes, if elsewhere.")
    b_place = Id(required=False, allow_null=True, help_text="Where its B end goes, if elsewhere.")


class CutCable(VerbShape):
    """What `cuts.cut` takes."""

    example = {
        "cable": 3,
        "at_m": 410,
        "place": 9,
        "closure_name": "C7",
        "far_name": "F1 beyond C7",
    }

    cable = Id()
    at_m = Number(help_text="Metres of fibre from its A end.")
    place = Id(required=False, allow_null=True, help_text="Where the closure stands.")
    closure_name = Text(required=False, help_text="Of a new closure.")
    closure = Id(required=False, allow_null=True, help_text="A closure that stands there already.")
    far_name = Text(required=False, help_text="Of the cable beyond the closure.")
    kind = serializers.ChoiceField(JointKind.choices, required=False, help_text="Of the splices.")
    tray_fibres = Whole(required=False, help_text="Splices on one tray.")
