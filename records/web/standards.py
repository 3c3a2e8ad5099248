"""The catalogue: classes, losses and colours, each figure with its source and mark."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.models import CatalogueEntry, ColourScheme, OpticalClass
from records.queries import standards


def catalogue_page(request: HttpRequest) -> HttpResponse:
    """Show all that the catalogue holds."""
    return render(request, "records/catalogue.html", {"catalogue": standards.catalogue()})


def class_page(request: HttpRequest, class_id: int) -> HttpResponse:
    """Show one optical class with both directions."""
    found = get_object_or_404(OpticalClass, pk=class_id)
    context = {"optical_class": found, "directions": standards.directions(found)}
    return render(request, "records/optical_class.html", context)


def entry_page(request: HttpRequest, entry_id: int) -> HttpResponse:
    """Show one catalogue entry with its figures."""
    entry = get_object_or_404(CatalogueEntry, pk=entry_id)
    context = {
        "entry": entry,
        "figures": standards.figures(entry),
        "versions": standards.versions(entry),
        "unit": "dB/km" if entry.kind == "fibre" else "dB",
    }
    return render(request, "records/entry.html", context)


def colours_page(request: HttpRequest, scheme_id: int) -> HttpResponse:
    """Show one colour scheme."""
    scheme = get_object_or_404(ColourScheme, pk=scheme_id)
    context = {"scheme": scheme, "colours": standards.colours(scheme)}
    return render(request, "records/colours.html", context)
