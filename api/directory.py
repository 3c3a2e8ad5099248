"""Every noun by its name in addresses."""

from typing import Any

from django.db.models import Model
from django.urls import reverse

from api import hazards, label_stock, prints
from api.cables import CableViewSet, FibreViewSet
from api.catalogue import CatalogueEntryViewSet, ColourSchemeViewSet, OpticalClassViewSet
from api.catalogue_standing import ConfirmationViewSet, TakeOverViewSet
from api.changes import ChangeViewSet
from api.equipment import EquipmentViewSet
from api.jobs import JobViewSet
from api.joints import JointViewSet
from api.light import ChannelViewSet, FeedViewSet
from api.lines import BookingViewSet, LineViewSet
from api.nouns import NounViewSet
from api.places import PlaceViewSet
from api.points import PointViewSet, PortViewSet
from api.readings import ReadingViewSet
from api.tags import TagViewSet
from records.models import Passage

NOUNS: dict[str, type[NounViewSet]] = {
    "places": PlaceViewSet,
    "equipment": EquipmentViewSet,
    "ports": PortViewSet,
    "cables": CableViewSet,
    "fibres": FibreViewSet,
    "points": PointViewSet,
    "joints": JointViewSet,
    "channels": ChannelViewSet,
    "optical-classes": OpticalClassViewSet,
    "catalogue-entries": CatalogueEntryViewSet,
    "colour-schemes": ColourSchemeViewSet,
    "confirmations": ConfirmationViewSet,
    "take-overs": TakeOverViewSet,
    "lines": LineViewSet,
    "bookings": BookingViewSet,
    "feeds": FeedViewSet,
    "readings": ReadingViewSet,
    "changes": ChangeViewSet,
    "jobs": JobViewSet,
    "tags": TagViewSet,
    "print-runs": prints.PrintRunViewSet,
    "printed-labels": prints.PrintedLabelViewSet,
    "hazard-statements": hazards.HazardStatementViewSet,
    "own-stock": label_stock.OwnStockViewSet,
    "printer-offsets": label_stock.PrinterOffsetViewSet,
}
"""The nouns of the record, each a list and a detail under /api/."""


def model_of(noun: str) -> type[Model]:
    """Return the model of a noun."""
    rows: Any = NOUNS[noun].queryset
    model: type[Model] = rows.model
    return model


# A verb about a fibre returns the passage that the fibre is.
_NAMES = {model_of(name): name for name in NOUNS} | {Passage: "fibres"}


def address(noun: str, pk: int) -> str:
    """Return the address of a thing."""
    return reverse(f"api:{noun}-detail", args=[pk])


def thing_of(row: Model) -> dict[str, Any]:
    """Return what a row is to a client: its noun, id and address."""
    name = _NAMES[type(row)]
    noun = model_of(name)._meta.verbose_name
    return {"noun": str(noun), "id": row.pk, "url": address(name, row.pk)}
