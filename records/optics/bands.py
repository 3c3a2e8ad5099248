"""Compare the wavelength bands of whatever has one.

A band includes both its ends, as standards print it. Bands are given in whole nanometres.
"""

from typing import Protocol

# Wavelengths the trade calls its windows by. Source: the middles of the bands in ITU-T G.984.2
# (1490 down, 1310 up), G.987.2 and G.9807.1 (1577 down, 1270 up) and G.983.3 (1550, video
# overlay); 1625 is where ITU-T L.66 puts maintenance on fibres in use (from memory).
GPON_DOWN_NM, GPON_UP_NM = 1490, 1310
XG_PON_DOWN_NM, XG_PON_UP_NM = 1577, 1270
VIDEO_NM = 1550
MAINTENANCE_NM = 1625


class Banded(Protocol):
    """Anything with a band: a direction of a class, a figure of the catalogue."""

    @property
    def wavelength_min_nm(self) -> int:
        """Return the shorter end, included."""

    @property
    def wavelength_max_nm(self) -> int:
        """Return the longer end, included."""


def covers(band: Banded, wavelength_nm: int) -> bool:
    """Tell whether a wavelength lies in a band, its ends included."""
    return band.wavelength_min_nm <= wavelength_nm <= band.wavelength_max_nm


def overlaps(one: Banded, other: Banded) -> bool:
    """Tell whether two bands share a wavelength, so that their lights can't be told apart."""
    return (
        one.wavelength_min_nm <= other.wavelength_max_nm
        and other.wavelength_min_nm <= one.wavelength_max_nm
    )


def middle_nm(band: Banded) -> int:
    """Return the whole nanometre at the middle of a band, where its losses are looked up."""
    return (band.wavelength_min_nm + band.wavelength_max_nm) // 2
