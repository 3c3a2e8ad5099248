"""Floor 2: the tables, their constraints and their history.

What lives here: fields, constraints, and properties of one row. What must not: rules that need a
second row (records/changes), answers that span tables (records/queries), `save()` overrides and
signals. Every table of the plant is `kept`: triggers write each version of each row to its
history twin, and refuse a write while no change is open.

Start from `Point` and `Passage` in plant.py, then `Feed` in service.py, then kept.py. Other code
imports the names from this package.
"""

from records.models.catalogue import (
    Bound,
    CatalogueEntry,
    ClassDirection,
    ColourScheme,
    Confidence,
    Direction,
    EntryKind,
    Figure,
    OpticalClass,
    SchemeColour,
)
from records.models.changes import Change
from records.models.hazards import HazardLevel, HazardStatement
from records.models.jobs import OPEN_JOB_STATES, Job, JobState
from records.models.kept import KEPT, STILL, HistoryRow
from records.models.label_rules import (
    CautionSign,
    LabelRules,
    OwnStock,
    Pictogram,
    PrinterOffset,
    StockShape,
)
from records.models.places import DWELLINGS, Place, PlaceKind
from records.models.plant import (
    FIBRE_ENDS,
    LONE_ROLES,
    Cable,
    CableKind,
    Equipment,
    EquipmentKind,
    Fibre,
    Joint,
    JointEnd,
    JointKind,
    LegCondition,
    Passage,
    Point,
    Polish,
    Port,
    Role,
)
from records.models.prints import PrintedLabel, PrintFile, PrintRun, Sighting
from records.models.search import Noun, SearchText
from records.models.service import (
    OPEN_STATES,
    Booking,
    BookingState,
    Channel,
    Feed,
    Line,
    Reading,
)
from records.models.standing import CONFIRMABLE, Confirmation, TakeOver
from records.models.tags import TAGGED, Tag

__all__ = [
    "CONFIRMABLE",
    "DWELLINGS",
    "FIBRE_ENDS",
    "KEPT",
    "LONE_ROLES",
    "OPEN_JOB_STATES",
    "OPEN_STATES",
    "STILL",
    "TAGGED",
    "Booking",
    "BookingState",
    "Bound",
    "Cable",
    "CableKind",
    "CatalogueEntry",
    "CautionSign",
    "Change",
    "Channel",
    "ClassDirection",
    "ColourScheme",
    "Confidence",
    "Confirmation",
    "Direction",
    "EntryKind",
    "Equipment",
    "EquipmentKind",
    "Feed",
    "Fibre",
    "Figure",
    "HazardLevel",
    "HazardStatement",
    "HistoryRow",
    "Job",
    "JobState",
    "Joint",
    "JointEnd",
    "JointKind",
    "LabelRules",
    "LegCondition",
    "Line",
    "Noun",
    "OpticalClass",
    "OwnStock",
    "Passage",
    "Pictogram",
    "Place",
    "PlaceKind",
    "Point",
    "Polish",
    "Port",
    "PrintFile",
    "PrintRun",
    "PrintedLabel",
    "PrinterOffset",
    "Reading",
    "Role",
    "SchemeColour",
    "SearchText",
    "Sighting",
    "StockShape",
    "Tag",
    "TakeOver",
]
