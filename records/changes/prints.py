"""Verbs for prints: record a run with the codes it issues, spoil a label, void blank tags.

A run is laid out before its change is opened, so nothing is issued or recorded for labels that
can't be printed, and the record isn't kept waiting. `record` then checks what may have happened
in between: that new codes are unused, and that each thing has the code its label shows.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from records.changes._checks import choice, existing, refuse_retired, text
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, Refusal
from records.models import (
    TAGGED,
    Place,
    PrintedLabel,
    PrintFile,
    PrintRun,
    Tag,
)
from records.models.prints import as_json
from records.models.tag_code import TagCodeError, grouped, parse
from records.queries.prints import Holder, codes_on
from records.queries.words import counted

LABELS_MAX = 10_000
"""Labels of one run; more is several buildings, to be printed one after the other."""

_BATCH = 500

_T = TypeVar("_T")


class LabelOvertaken(Refusal):
    """A label whose thing got or lost a tag since it was laid out."""

    code = "label_overtaken"


class LabelSpoiled(Refusal):
    """A label that was spoiled before."""

    code = "label_spoiled"


class NoBlankLeft(Refusal):
    """A voiding of blank tags where none is blank any more."""

    code = "no_blank_left"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToPrint:
    """A label laid out and about to be printed. `is_new` asks to issue its code and bind it."""

    kind: str
    fields: dict[str, str] = field(default_factory=dict)
    code: str = ""
    is_new: bool = False
    noun: str = ""
    thing: int | None = None
    cable_end: str = ""
    tray: str = ""
    diameter_mm: Decimal | None = None
    place: int | None = None

    @property
    def holder(self) -> Holder | None:
        """Return what its tag hangs on; None for a blank tag."""
        return Holder(self.noun, self.thing, self.cable_end) if self.thing is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How a run was laid out: see PrintRun."""

    stock: str
    rules: str
    digest: str
    file: str = PrintFile.PDF
    start: int = 1
    right_mm: Decimal = Decimal(0)
    down_mm: Decimal = Decimal(0)
    has_outlines: bool = False


def refuse_length(count: int) -> None:
    """Refuse a run of too many labels, or of none. Raises: Malformed."""
    if not 1 <= count <= LABELS_MAX:
        raise Malformed(
            f"A run of {count} labels is not possible.",
            hint=f"Print 1 to {LABELS_MAX:,} labels at a time.",
            field="labels",
        )


@verb
def record(
    change: OpenChange, *, chosen: str, setting: Setting, labels: Sequence[ToPrint]
) -> PrintRun:
    """Record a run of labels, and issue and bind the codes that are new.

    Raises: Malformed, PlaceRetired, LabelOvertaken.
    """
    refuse_length(len(labels))
    chosen = text(chosen, 200, field="chosen", needed=True)
    choice(setting.file, PrintFile.values, field="file")
    _refuse_overtaken(labels)
    _refuse_retired_places(labels)

    tags = _issued(labels) | _known(labels)
    run = PrintRun.objects.create(
        change_id=change.number,
        chosen=chosen,
        label_count=len(labels),
        **{name: getattr(setting, name) for name in Setting.__slots__},
    )
    rows = (_row(run, each, position, tags) for position, each in enumerate(labels, start=1))
    PrintedLabel.objects.bulk_create(list(rows), batch_size=_BATCH)
    change.say(f"printed {counted(len(labels), 'label')} of {chosen}")
    return run


def _refuse_overtaken(labels: Iterable[ToPrint]) -> None:
    coded = [each for each in labels if each.code]
    now = codes_on({each.holder for each in coded if each.holder is not None})
    for each in coded:
        if each.holder is None:
            continue
        bound = now.get(each.holder, [])
        if each.is_new and bound:
            raise _overtaken(f"{_named(each)} got the tag {grouped(bound[-1])} meanwhile.")
        if not each.is_new and each.code not in bound:
            raise _overtaken(f"{_named(each)} lost the tag {grouped(each.code)} meanwhile.")


def _refuse_retired_places(labels: Iterable[ToPrint]) -> None:
    """Refuse a new tag for a place, or a line of one, that was retired meanwhile."""
    for noun, those in (("place", "pk__in"), ("line", "lines__in")):
        new = {each.thing for each in labels if each.is_new and each.noun == noun}
        for batch in _batches(new):
            for place in Place.objects.filter(retired=True, **{those: batch})[:1]:
                refuse_retired(place, field="labels")


def _overtaken(message: str) -> LabelOvertaken:
    return LabelOvertaken(message, hint="Look at the labels again, then print.", field="labels")


def _named(each: ToPrint) -> str:
    first = next((text for text in each.fields.values() if text), "")
    return f"The {each.kind.replace('_', ' ')} {first}".strip()


def _issued(labels: Iterable[ToPrint]) -> dict[str, Tag]:
    """Issue the new codes, each bound at once: a label that shows a tray shares its box's."""
    new = {each.code: each for each in labels if each.is_new}
    taken = [code for batch in _batches(new) for code in _existing_codes(batch)]
    if taken:
        raise LabelOvertaken(
            f"Code {grouped(taken[0])} was issued meanwhile.", hint="Print again.", field="labels"
        )
    tags = [_bound(code, each) for code, each in new.items()]
    Tag.objects.bulk_create(tags, batch_size=_BATCH)
    return {tag.code: tag for tag in tags}


def _bound(code: str, each: ToPrint) -> Tag:
    try:
        tag = Tag(code=parse(code))
    except TagCodeError as error:
        raise Malformed(str(error), hint="Offer true codes.", field="labels") from error
    if each.holder is not None:
        choice(each.noun, TAGGED, field="noun")
        setattr(tag, f"{each.noun}_id", each.thing)
        tag.cable_end = each.cable_end
    return tag


def _existing_codes(codes: list[str]) -> list[str]:
    return list(Tag.objects.filter(code__in=codes).values_list("code", flat=True))


def _known(labels: Iterable[ToPrint]) -> dict[str, Tag]:
    """Return the tags of codes that were issued before; a blank one must still be blank."""
    old = {each.code: each for each in labels if each.code and not each.is_new}
    found = {
        tag.code: tag for batch in _batches(old) for tag in Tag.objects.filter(code__in=batch)
    }
    for code, each in old.items():
        tag = found.get(code)
        if tag is None:
            raise _overtaken(f"No tag {grouped(code)} was ever issued here.")
        if tag.voided:
            raise _overtaken(f"Tag {grouped(code)} was voided: {tag.voided}.")
        if each.holder is None and any(getattr(tag, f"{noun}_id") for noun in TAGGED):
            raise _overtaken(f"Tag {grouped(code)} is bound, no longer blank.")
    return found


def _batches(wanted: Iterable[_T]) -> Iterator[list[_T]]:
    listed = list(wanted)
    for start in range(0, len(listed), _BATCH):
        yield listed[start : start + _BATCH]


def _row(run: PrintRun, each: ToPrint, position: int, tags: dict[str, Tag]) -> PrintedLabel:
    return PrintedLabel(
        run=run,
        position=position,
        kind=each.kind,
        tag=tags[each.code] if each.code else None,
        noun=each.noun,
        thing=each.thing,
        cable_end=each.cable_end,
        tray=each.tray,
        texts=as_json(each.fields),
        diameter_mm=each.diameter_mm,
        place_id=each.place,
    )


@verb
def spoil(change: OpenChange, label: int, *, why: str) -> PrintedLabel:
    """Say that a printed label never got to the wall; the tag of a blank one is voided with it.

    Raises: Missing, Malformed, LabelSpoiled.
    """
    found = existing(PrintedLabel.objects.select_related("tag", "run"), label, field="label")
    if found.spoiled:
        raise LabelSpoiled(
            f"Label {found.position} of this run is spoiled already: {found.spoiled}.",
            hint="Print another one.",
            field="label",
        )
    found.spoiled = text(why, 200, field="why", needed=True)

    PrintedLabel.objects.filter(pk=label).update(spoiled=found.spoiled)
    if found.tag is not None and _is_blank(found.tag):
        Tag.objects.filter(pk=found.tag.pk).update(voided=found.spoiled)
    change.say(f"spoiled label {found.position} of {found.run}: {found.spoiled}")
    return found


def _is_blank(tag: Tag) -> bool:
    return not tag.voided and not any(getattr(tag, f"{noun}_id") for noun in TAGGED)


@verb
def void_blanks(change: OpenChange, run: int, *, why: str) -> PrintRun:
    """Void at once all tags of a run that are still blank: a roll that was lost.

    Raises: Missing, Malformed, NoBlankLeft.
    """
    found = existing(PrintRun.objects, run, field="run")
    why = text(why, 200, field="why", needed=True)
    hangs_on_nothing = {f"tag__{noun}__isnull": True for noun in TAGGED}
    printed = PrintedLabel.objects.filter(run=run, tag__isnull=False)
    blank = printed.filter(tag__voided="", **hangs_on_nothing)
    tags = list(blank.values_list("tag_id", flat=True))
    if not tags:
        raise NoBlankLeft(
            f"No tag of {found} is blank: each is bound or voided.",
            hint="Void a bound tag by its own code.",
            field="run",
        )

    kept = printed.filter(tag__voided="").count() - len(tags)
    blank.update(spoiled=why)
    for start in range(0, len(tags), _BATCH):
        Tag.objects.filter(pk__in=tags[start : start + _BATCH]).update(voided=why)
    stay = f"; {kept} bound meanwhile stay" if kept else ""
    change.say(f"voided {len(tags)} blank tags of {found}: {why}{stay}")
    return found
