"""Tags: what hangs on a thing, and what a code stands for."""

from records.models import TAGGED, Tag
from records.models.tag_code import parse


def tag_of(text: str) -> Tag | None:
    """Return the tag of a typed or scanned code; None if it was never issued here.

    Raises: TagCodeError for a text that is no code.
    """
    return Tag.objects.select_related(*TAGGED).filter(code=parse(text)).first()


def tags_on(noun: str, thing_id: int) -> list[Tag]:
    """Return the tags that hang on a thing."""
    return list(Tag.objects.filter(**{f"{noun}_id": thing_id}, voided="").order_by("code"))
