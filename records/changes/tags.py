"""Verbs for tags: issue codes, bind one to a thing or many to many, void one."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from records.changes._checks import choice, existing, refuse_retired, text
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Missing, Refusal
from records.models import TAGGED, Line, Place, Tag
from records.models.tag_code import TagCodeError, grouped, parse
from records.queries.things import described, model_of
from records.queries.words import counted

BOUND_MAX = 1_000
"""Tags bound by one call of `bind_all`: rolls are shorter (common practice)."""

_BATCH = 500


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
    Raises: Malformed, also for a candidate that is no code.
    """
    fresh = _unused((_code(each, field="candidates") for each in candidates), count)
    tags = Tag.objects.bulk_create([Tag(code=code) for code in fresh], batch_size=_BATCH)
    change.say(f"issued {counted(count, 'tag')}")
    return tags


def _code(typed: str, *, field: str) -> str:
    """Return the eight symbols of a code. Raises: Malformed."""
    try:
        return parse(typed)
    except TagCodeError as error:
        hint = "Type or scan the code again." if field == "code" else "Offer true codes."
        raise Malformed(str(error), hint=hint, field=field) from error


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
    _refuse_gone(target, field="thing")
    _refuse_end(noun, cable_end, field="cable_end")

    setattr(tag, noun, target)
    tag.cable_end = cable_end
    tag.save(update_fields=[noun, "cable_end"])
    change.say(f"bound tag {grouped(tag.code)} to {described(tag)}")
    return tag


def _refuse_gone(target: Any, *, field: str) -> None:
    """Refuse a place that is retired, and a line of one."""
    where = target.place if isinstance(target, Line) else target
    if isinstance(where, Place):
        refuse_retired(where, field=field)


def _refuse_end(noun: str, cable_end: str, *, field: str) -> None:
    if noun == "cable":
        choice(cable_end, ["A", "B"], field=field)
    elif cable_end:
        raise Malformed(
            f"A {noun} has no cable end.", hint="Leave the cable end empty.", field=field
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Binding:
    """A blank tag and what it shall hang on: see `bind`."""

    code: str
    noun: str
    thing: int
    cable_end: str = ""


@verb
def bind_all(change: OpenChange, bindings: Sequence[Binding]) -> list[Tag]:
    """Bind the blank tags of a roll, each to its thing: all of them or none.

    What it costs does not grow with a query a tag.
    Raises: Malformed, Missing, PlaceRetired, TagBound, TagVoided.
    """
    if not 1 <= len(bindings) <= BOUND_MAX:
        raise Malformed(
            f"{len(bindings)} tags can't be bound at once.",
            hint=f"Bind 1 to {BOUND_MAX:,} at a time.",
            field="bindings",
        )
    wanted: dict[str, Binding] = {}
    for each in bindings:
        choice(each.noun, TAGGED, field="bindings")
        _refuse_end(each.noun, each.cable_end, field="bindings")
        code = _code(each.code, field="bindings")
        if code in wanted:
            raise Malformed(
                f"Tag {grouped(code)} is named twice.", hint="Name it once.", field="bindings"
            )
        wanted[code] = each
    tags = _blank(wanted)
    things = {noun: _there(noun, those) for noun, those in _by_noun(wanted.values())}

    for tag in tags:
        each = wanted[tag.code]
        setattr(tag, each.noun, things[each.noun][each.thing])
        tag.cable_end = each.cable_end
    for noun in things:
        of_noun = [tag for tag in tags if wanted[tag.code].noun == noun]
        Tag.objects.bulk_update(of_noun, [noun, "cable_end"], batch_size=_BATCH)
    change.say(f"bound {counted(len(tags), 'tag')}")
    return tags


def _blank(codes: Iterable[str]) -> list[Tag]:
    """Return the blank tags of these codes. Raises: Missing, TagBound, TagVoided."""
    found = {
        tag.code: tag
        for batch in _batches(codes, _BATCH)
        for tag in Tag.objects.select_related(*TAGGED).filter(code__in=batch)
    }
    for code in codes:
        if code not in found:
            raise _never_issued(code, field="bindings")
        _refuse_used(found[code], field="bindings")
    return [found[code] for code in codes]


def _by_noun(bindings: Iterable[Binding]) -> Iterator[tuple[str, list[int]]]:
    for noun, those in groupby(sorted(bindings, key=_noun_of), key=_noun_of):
        yield noun, [each.thing for each in those]


def _noun_of(binding: Binding) -> str:
    return binding.noun


def _there(noun: str, wanted: list[int]) -> dict[int, Any]:
    """Return the things with these ids. Raises: Missing, PlaceRetired."""
    rows = model_of(noun).objects.select_related(*(["place"] if noun == "line" else []))
    found: dict[int, Any] = rows.in_bulk(wanted)
    for pk in wanted:
        if pk not in found:
            existing(rows, pk, field="bindings")
        _refuse_gone(found[pk], field="bindings")
    return found


def _issued(code: str) -> Tag:
    parsed = _code(code, field="code")
    tag = Tag.objects.filter(code=parsed).first()
    if tag is None:
        raise _never_issued(parsed, field="code")
    return tag


def _never_issued(code: str, *, field: str) -> Missing:
    return Missing(
        f"No tag {grouped(code)} was ever issued here.",
        hint="It may belong to another owner; leave it where it is.",
        field=field,
    )


def _refuse_used(tag: Tag, *, field: str = "code") -> None:
    if tag.voided:
        raise TagVoided(
            f"Tag {grouped(tag.code)} was voided: {tag.voided}.",
            hint="Destroy it and take another.",
            field=field,
        )
    holder = described(tag)
    if holder:
        raise TagBound(
            f"Tag {grouped(tag.code)} already hangs on {holder}.",
            hint="Take a blank tag, or void this one first.",
            field=field,
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
