"""Quantities as the API writes them: decibels and metres, the unit last in every name.

The record keeps whole thousandths of a decibel and whole centimetres; this is the one place where
the API turns them round.
"""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

DECIMALS = 3
"""What a sum of thousandths of a decibel can say."""


class Decibels(serializers.FloatField):
    """A value in dB or dBm, to a thousandth."""

    def to_representation(self, value: float) -> float:  # type: ignore[override] # stub says str
        return round(float(value), DECIMALS)


@extend_schema_field(OpenApiTypes.DOUBLE)
class FromThousandths(serializers.Field[Any, Any, Any, Any]):
    """A column of whole thousandths of a decibel, written in dB or dBm."""

    def __init__(self, source: str, **options: Any) -> None:
        """Read the column named `source`."""
        super().__init__(read_only=True, source=source, **options)

    def to_representation(self, value: int) -> float:
        return value / 1000


@extend_schema_field(OpenApiTypes.DOUBLE)
class FromHundredths(FromThousandths):
    """A column of whole centimetres, written in metres."""

    def to_representation(self, value: int) -> float:
        return value / 100


class Losses(serializers.Serializer[Any]):
    """A loss in dB: the least, the typical and the most to expect."""

    least = Decibels(source="least_db")
    typical = Decibels(source="typical_db")
    most = Decibels(source="most_db")


class Levels(serializers.Serializer[Any]):
    """A level in dBm: the least, the typical and the most to expect."""

    least = Decibels(source="least_dbm")
    typical = Decibels(source="typical_dbm")
    most = Decibels(source="most_dbm")
