"""How figures are written, on pages and in documents: the one place where they are rounded.

The minus is U+2212: it is as wide as a plus, and screen readers say it.
"""

MINUS = "\N{MINUS SIGN}"
NBSP = "\N{NO-BREAK SPACE}"

M_PER_KM = 1000
KM_FROM_M = 10_000


def number(value: float, places: int = 2) -> str:
    """Return a number to so many places, with a true minus and never a negative zero."""
    shown = f"{value:.{places}f}"
    if float(shown) == 0:
        shown = shown.lstrip("-")
    return shown.replace("-", MINUS)


def minus(text: str) -> str:
    """Return a text in which hyphens before digits are minus signs."""
    return "".join(
        MINUS
        if mark == "-" and text[at + 1 : at + 2].isdigit() and text[at - 1 : at] in " ("
        else mark
        for at, mark in enumerate(text)
    )


def dbm(level_dbm: float, places: int = 2) -> str:
    """Return a level with its unit."""
    return f"{number(level_dbm, places)}{NBSP}dBm"


def db(loss_db: float, places: int = 2) -> str:
    """Return a loss or margin with its unit."""
    return f"{number(loss_db, places)}{NBSP}dB"


def signed_db(difference_db: float) -> str:
    """Return a difference with its sign and unit."""
    plus = "+" if round(difference_db, 2) > 0 else ""
    return f"{plus}{db(difference_db)}"


def metres(length_m: float) -> str:
    """Return a length: to the centimetre below 10 m, in kilometres from 10 km."""
    if length_m >= KM_FROM_M:
        return f"{length_m / M_PER_KM:,.2f}".rstrip("0").rstrip(".") + f"{NBSP}km"
    if length_m >= 10:  # noqa: PLR2004 (a tape is read to the decimetre from here)
        return f"{length_m:,.1f}".removesuffix(".0") + f"{NBSP}m"
    return f"{length_m:.2f}".rstrip("0").rstrip(".") + f"{NBSP}m"
