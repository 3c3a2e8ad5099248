"""Where each thing has its page, and each verb its form."""

from urllib.parse import urlencode

from django.urls import reverse

PAGED = ("place", "equipment", "point", "cable", "line")
"""The nouns that have a page at /<noun>/<id>/."""

IN_CATALOGUE = ("entry", "optical-class", "colours", "take-over")
"""The nouns that have a page in the catalogue."""


def url_of(noun: str, thing_id: int) -> str:
    """Return the address of a thing's page. Raises: ValueError for a noun without pages."""
    if noun not in PAGED + IN_CATALOGUE:
        known = ", ".join(PAGED + IN_CATALOGUE)
        raise ValueError(f"{noun!r} has no page; give one of {known}")
    return reverse(noun, args=[thing_id])


def do_url(verb: str, **fields: object) -> str:
    """Return the address of a verb's form with fields filled in: `joints.part`, joint=12."""
    query = urlencode({name: value for name, value in fields.items() if value is not None})
    address = reverse("do", args=[verb])
    return f"{address}?{query}" if query else address
