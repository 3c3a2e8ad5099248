"""Read the packs that are handed over, as whoever gets one would."""

import io

import pdfplumber

from records.handover.pack.document import as_built_pack
from records.handover.pack.told import Asked
from records.models import Place
from tests.web.reading import PLANT

FULL = Asked(has_addresses=True, asked_by="crew")


def plant_of(homes):
    """Return the text of a plant with a 1:64 splitter and so many homes with terminals."""
    lines = ["olt O", "splitter S 1:64", "panel P", "cable F 900 m", "light O.1 GPON B+"]
    chains = ["O.1 = F.1 = P.1 = S"]
    for home in range(1, homes + 1):
        lines += [
            f"cable D{home} {home} m",
            f"outlet U{home} @{home}",
            f"terminal T{home} @{home}",
        ]
        chains.append(f"S.{home} = D{home} ~ U{home} - T{home}")
    return "\n".join(lines + chains)


def pack_of(place_id, asked=Asked()):  # noqa: B008 (it is frozen)
    return as_built_pack(Place.objects.get(pk=place_id), asked).content


def pages(content):
    """Return the text of each page, its minus signs and spaces as one types them."""
    with pdfplumber.open(io.BytesIO(content)) as pdf:
        return [page.extract_text().replace("\N{MINUS SIGN}", "-") for page in pdf.pages]


def whole(content):
    return "\n".join(pages(content))


__all__ = ["FULL", "PLANT", "Asked", "pack_of", "pages", "plant_of", "whole"]
