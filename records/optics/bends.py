"""Tell a bend from a joint by wavelength.

A bend loses more light the longer the wavelength, a joint loses nearly the same at all. ITU-T
G.657 limits the loss of a bend at 1550 and at 1625 nm, and in each of its rows the longer
wavelength may lose two to four times as much. The least of these is taken here, so that a bend is
not claimed from a small difference. Below 1550 nm nothing is published; bending loss is known to
fall off exponentially there, and so the same growth is carried on.

Source: ITU-T G.657 table for category A, macrobending; a trade page restating the standard.
"""

SOURCE = "ITU-T G.657, macrobending loss at 1550 and 1625 nm"
PUBLISHED_NM = (1550, 1625)
GROWTH = 2.0


def bend_growth(wavelength_nm: int, *, against_nm: int) -> float:
    """Return how many times the loss of a bend at one wavelength it is at another.

    >>> bend_growth(1625, against_nm=1550)
    2.0
    >>> round(bend_growth(1310, against_nm=1490), 3)
    0.189
    """
    shorter_nm, longer_nm = PUBLISHED_NM
    return float(GROWTH ** ((wavelength_nm - against_nm) / (longer_nm - shorter_nm)))
