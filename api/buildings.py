"""What is done to a whole building: its flats renumbered, or all of it retired."""

from rest_framework import serializers

from api.shapes import Id, Text, VerbShape


class RenumberFlats(VerbShape):
    """What `buildings.renumber` takes."""

    example = {"flats": [12, 13], "names": ["Flat 13", "Flat 12"], "reason": "plates were swapped"}

    flats = serializers.ListField(child=Id())
    names = serializers.ListField(child=Text(), help_text="Their new names, in the same order.")


class RetireBuilding(VerbShape):
    """What `buildings.retire` takes."""

    example = {"place": 4, "reason": "pulled down"}

    place = Id()
