"""Which things of the record get labels, and what each label says: from the database to `Label`s.

A run is chosen by where the things are: a place with all inside it, an equipment, a cable, a
single port. In a home only the line's identifier is shown, on the outlet, and the terminal's own
name; a name that repeats an address is left out. Codes are read from tags, or issued and bound in
one change.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from django.db.models import Q, QuerySet

from labels.design import KINDS, Label, label
from records.changes import OpenChange, tags
from records.models import (
    FIBRE_ENDS,
    Cable,
    Equipment,
    EquipmentKind,
    Line,
    Place,
    PlaceKind,
    Point,
    Role,
    Tag,
)
from records.queries.names import addresses, cable_name, port_label
from records.queries.words import natural, normalised

CORD_DIAMETER_MM: Final = 3.0
"""Outer diameter of a cord or drop where none is recorded. Common practice."""

BLANK_CODE: Final = "00000000"
"""Stands on a first look for a code that is not issued yet; a true code, never issued."""

WIDE_CODE: Final = "WWMWMWWM"
"""As wide as a code can be, to see whether a label has room before codes are issued."""

ADDRESSED: Final = (
    PlaceKind.ESTATE,
    PlaceKind.BUILDING,
    PlaceKind.FLOOR,
    PlaceKind.FLAT,
    PlaceKind.HOUSE,
    PlaceKind.UNIT,
)
"""The kinds of place whose names are part of an address."""
