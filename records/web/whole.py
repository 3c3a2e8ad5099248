"""Whole numbers that an address or a form sends as text."""

DIGITS_MAX = 18
"""What a database's integer surely holds."""


def whole(text: str) -> int | None:
    """Return the whole number that a text is, None where it is none or has too many digits."""
    return int(text) if text.isdecimal() and len(text) <= DIGITS_MAX else None
