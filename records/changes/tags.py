"""Verbs for tags: issue codes, bind one to a thing, void one."""

from collections.abc import Iterable, Iterator

from records.changes._checks import choice, existing, refuse_retired, text
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Missing, Refusal
from records.models import TAGGED, Line, Place, Tag
from records.models.tag_code import TagCodeError, grouped, parse
from records.queries.things import described, model_of


class TagBound(Refusal):
    """A tag that already hangs on a thing."""

    code = "tag_bound"


class TagVoided(Refusal):
    """A tag that was withdrawn."""

    code = "tag_voided"


@verb
def issue(change: OpenChange, *, count: int, candidates: Iterable[str]) -> list[Tag]:
    """Issue blank tags with codes never used before, taken from random candidates.

    Randomness comes from the face, so that what a change does follows from its arguments.
    """
    fresh = _unused(candidates, count)
    tags = Tag.objects.bulk_create([Tag(code=code) for code in fresh])
    change.say(f"issued {count} tags")
    return tags


def _unused(candidates: Iterable[str], count: int) -> list[str]:
    chosen: dict[str, None] = {}
    for batch in _batches(candidates, count):
        known = set(Tag.objects.filter(code__in=batch).values_list("code", flat=True))
        for code in batch:
            if code not in known and len(chosen) < count:
                chosen[code] = None
        if len(chosen) == count:
            return list(chosen)
    raise Malformed(
        f"Only {len(chosen)} of {count} codes are unused.",
        hint="Offer more candidates.",
        field="candidates",
    )


def _batches(candidates: Iterable[str], size: int) -> Iterator[list[str]]:
    batch: list[str] = []
    for code in candidates:
        batch.append(code)
        if len(batch) >= size:
            yield batch
            batch = []
    if batch:
        yield batch


@verb
def bind(change: OpenChange, code: str, *, noun: str, thing: int, cable_end: str = "") -> Tag:
    """Bind a blank tag to a thing: a point, equipment, place, line, or one end of a cable.

    Raises: Malformed, Missing, PlaceRetired, TagBound, TagVoided.
    """
    choice(noun, TAGGED, field="noun")
    tag = _issued(code)
    _refuse_used(tag)
    target = existing(model_of(noun).objects, thing, field="thing")
    where = target.place if isinstance(target, Line) else target
    if isinstance(where, Place):
        refuse_retired(where, field="thing")
    if noun == "cable":
        choice(cable_end, ["A", "B"], field="cable_end")
    elif cable_end:
        raise Malformed(
            f"A {noun} has no cable end.", hint="Leave the cable end empty.", field="cable_end"
        )

    setattr(tag, noun, target)
    tag.cable_end = cable_end
    tag.save(update_fields=[noun, "cable_end"])
    change.say(f"bound tag {grouped(tag.code)} to {described(tag)}")
    return tag


def _issued(code: str) -> Tag:
    try:
        parsed = parse(code)
    except TagCodeError as error:
        raise Malformed(str(error), hint="Type or scan the code again.", field="code") from error
    tag = Tag.objects.filter(code=parsed).first()
    if tag is None:
        raise Missing(
            f"No tag {grouped(parsed)} was ever issued here.",
            hint="It may belong to another owner; leave it where it is.",
            field="code",
        )
    return tag


def _refuse_used(tag: Tag) -> None:
    if tag.voided:
        raise TagVoided(
            f"Tag {grouped(tag.code)} was voided: {tag.voided}.",
            hint="Destroy it and take another.",
            field="code",
        )
    holder = described(tag)
    if holder:
        raise TagBound(
            f"Tag {grouped(tag.code)} already hangs on {holder}.",
            hint="Take a blank tag, or void this one first.",
            field="code",
        )


@verb
def void(change: OpenChange, code: str, *, why: str) -> Tag:
    """Withdraw a tag for ever. Raises: Malformed, Missing, TagVoided."""
    tag = _issued(code)
    if tag.voided:
        _refuse_used(tag)
    tag.voided = text(why, 200, field="why", needed=True)
    for noun in TAGGED:
        setattr(tag, noun, None)
    tag.cable_end = ""
    tag.save()
    change.say(f"voided tag {grouped(tag.code)}: {tag.voided}")
    return tag
