"""The thing that was chosen, by the id that a form sends as text."""

from typing import TypeVar

from django.db.models import Model, QuerySet

from records.web.whole import whole

M = TypeVar("M", bound=Model)


def thing(things: "QuerySet[M]", text: str) -> M | None:
    """Return the thing whose id a text is, None where there is none."""
    pk = whole(text)
    return None if pk is None else things.filter(pk=pk).first()
