"""How figures are shown: the one place where they are rounded and get their units.

A template gets these filters and tags without loading them (see TEMPLATES in settings.py).
The minus is U+2212: it is as wide as a plus, and screen readers say it.
"""

from datetime import UTC, datetime

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from records.models.tag_code import grouped
from records.web import links
from records.web.marks import drawn

register = template.Library()

MINUS = "\N{MINUS SIGN}"
NBSP = "\N{NO-BREAK SPACE}"

M_PER_KM = 1000
KM_FROM_M = 10_000


@register.filter
def minus(text: str) -> str:
    """Return a text in which hyphens before digits are minus signs."""
    return "".join(
        MINUS
        if mark == "-" and text[at + 1 : at + 2].isdigit() and text[at - 1 : at] in " ("
        else mark
        for at, mark in enumerate(text)
    )


@register.filter
def number(value: float, places: int = 2) -> str:
    """Return a number to so many places, with a true minus and never a negative zero."""
    shown = f"{value:.{places}f}"
    if float(shown) == 0:
        shown = shown.lstrip("-")
    return shown.replace("-", MINUS)


@register.filter
def dbm(level_dbm: float, places: int = 2) -> str:
    """Return a level with its unit."""
    return f"{number(level_dbm, places)}{NBSP}dBm"


@register.filter
def db(loss_db: float, places: int = 2) -> str:
    """Return a loss or margin with its unit."""
    return f"{number(loss_db, places)}{NBSP}dB"


@register.filter
def signed_db(difference_db: float) -> str:
    """Return a difference with its sign and unit."""
    plus = "+" if round(difference_db, 2) > 0 else ""
    return f"{plus}{db(difference_db)}"


@register.filter
def metres(length_m: float) -> str:
    """Return a length: to the centimetre below 10 m, in kilometres from 10 km."""
    if length_m >= KM_FROM_M:
        return f"{length_m / M_PER_KM:,.2f}{NBSP}km"
    if length_m >= 10:  # noqa: PLR2004 (a tape is read to the decimetre from here)
        return f"{length_m:,.1f}".removesuffix(".0") + f"{NBSP}m"
    return f"{length_m:.2f}".rstrip("0").rstrip(".") + f"{NBSP}m"


@register.filter
def moment(at: datetime) -> SafeString:
    """Return a moment to the minute, in UTC and said to be."""
    utc = at.astimezone(UTC)
    return format_html(
        '<time datetime="{}">{:%d %b %Y, %H:%M} UTC</time>', utc.isoformat("T", "seconds"), utc
    )


@register.filter
def code(tag_code: str) -> str:
    """Return a tag code in two groups."""
    return grouped(tag_code)


@register.simple_tag
def url_of(noun: str, thing_id: int) -> str:
    """Return the address of a thing's page."""
    return links.url_of(noun, thing_id)


@register.simple_tag
def do(verb: str, **fields: object) -> str:
    """Return the address of a verb's form with fields filled in."""
    return links.do_url(verb, **fields)


@register.simple_tag
def mark(word: str) -> SafeString:
    """Return the shape that stands beside a word."""
    return drawn(word)
