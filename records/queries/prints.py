"""What was printed: the codes on things, the latest label of each, and which were seen since."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final, NamedTuple, TypeVar

from django.db.models import Manager, Max, Model, QuerySet

from records.models import TAGGED, Place, PrintedLabel, PrintRun, Sighting, Tag
from records.queries.engine import ids, in_ids
from records.queries.legs import after_all_inside

M = TypeVar("M", bound=Model)


class Holder(NamedTuple):
    """What a tag hangs on: a thing, or one end of a cable."""

    noun: str
    thing: int | None
    cable_end: str = ""


AnyHolder = tuple[str, int | None, str]
"""A holder without its names. Ten thousand plain tuples are nothing to the garbage collector."""

_SORTS: Final[Mapping[str, str]] = {
    **dict.fromkeys(("port", "leg"), "port"),
    **dict.fromkeys(("splitter", "panel", "closure", "terminal"), "box"),
    **dict.fromkeys(("cable_wrap", "cable_flag"), "cable"),
}


def sort_of(kind: str) -> str:
    """Return the sort of a kind of label: a wrap and a flag on one cable are the same label."""
    return _SORTS.get(kind, kind)


class Subject(NamedTuple):
    """What a label is for: its sort and thing, for a tray plate the tray too."""

    sort: str
    noun: str
    thing: int | None
    cable_end: str = ""
    tray: str = ""


AnySubject = tuple[str, str, int | None, str, str]
"""A subject without its names, as above."""


class LatestLabel(NamedTuple):
    """The latest label printed for something: what it said, its code if any.

    A row of ten thousand is read in no time; an instance of the model each would take a second.
    """

    texts: str
    code: str | None

    @property
    def fields(self) -> dict[str, str]:
        """Return the text of each field that it showed; empty where the field had none."""
        found: dict[str, str] = json.loads(self.texts)
        return found


def codes_on(holders: Iterable[Holder]) -> dict[Holder, list[str]]:
    """Return the codes that hang on each of these things, oldest first."""
    found: dict[Holder, list[str]] = {}
    for noun, things in by_noun(holders).items():
        for thing, cable_end, code in _tags_of(noun, things):
            found.setdefault(Holder(noun, thing, cable_end), []).append(code)
    return found


def _tags_of(noun: str, things: Iterable[int]) -> Iterable[tuple[int, str, str]]:
    tags = _among(Tag.objects, f"records_tag.{noun}_id", things).order_by("pk")
    return tags.values_list(f"{noun}_id", "cable_end", "code")


def newest_codes(things: Mapping[str, Iterable[int]]) -> dict[AnyHolder, str]:
    """Return the code that hangs on each of these things, by noun; the newest of several."""
    return {
        (noun, thing, cable_end): code
        for noun, those in things.items()
        for thing, cable_end, code in _tags_of(noun, those)
    }


def seen_at(things: Mapping[str, Iterable[int]]) -> dict[str, datetime]:
    """Return when each of the codes that hang on these things, by noun, was last scanned."""
    found: dict[str, datetime] = {}
    for noun, those in things.items():
        column, joined = f"records_tag.{noun}_id", f"tag__{noun}_id"
        scans = _among(Sighting.objects.order_by(), column, those, joined)
        found |= dict(scans.values_list("tag__code").annotate(at=Max("at")))
    return found


def printed_blank(things: Mapping[str, Iterable[int]]) -> set[str]:
    """Return which of the codes that hang on these things, by noun, were printed blank."""
    found: set[str] = set()
    blanks = PrintedLabel.objects.filter(kind="blank", spoiled="")
    for noun, those in things.items():
        listed = _among(blanks, f"records_tag.{noun}_id", those, f"tag__{noun}_id")
        found.update(listed.values_list("tag__code", flat=True))
    return found


def latest_labels(things: Mapping[str, Iterable[int]]) -> dict[AnySubject, LatestLabel]:
    """Return the latest label not spoiled of all that was printed for these things, by noun."""
    found: dict[AnySubject, LatestLabel] = {}
    for noun, those in things.items():
        printed = PrintedLabel.objects.filter(noun=noun, spoiled="").order_by("pk")
        listed = _among(printed, "records_printedlabel.thing", those).values_list(
            "kind", "thing", "cable_end", "tray", "texts", "tag__code"
        )
        for kind, thing, cable_end, tray, texts, code in listed:
            found[sort_of(kind), noun, thing, cable_end, tray] = LatestLabel(texts, code)
    return found


def by_noun(named: Iterable[Holder]) -> dict[str, set[int]]:
    """Return the things that are named, by noun."""
    found: dict[str, set[int]] = {}
    for each in named:
        if each.thing is not None:
            found.setdefault(each.noun, set()).add(each.thing)
    return found


def _among(
    listed: "Manager[M] | QuerySet[M]", column: str, things: Iterable[int], joined: str = ""
) -> "QuerySet[M]":
    """Limit rows to those of many things, however many, by one parameter.

    `joined` names a column of a table to be joined first, where the things are of that one.
    """
    rows = listed.filter(**{f"{joined}__isnull": False}) if joined else listed
    return rows.extra(where=[in_ids(column)], params=[ids(things)])  # noqa: S610 (our names)


def subject_of(label: PrintedLabel) -> Subject:
    """Return what a printed label is for."""
    return Subject(sort_of(label.kind), label.noun, label.thing, label.cable_end, label.tray)


def latest_label_of(tag: Tag) -> PrintedLabel | None:
    """Return the latest label with a tag's code that wasn't spoiled."""
    printed = PrintedLabel.objects.filter(tag=tag, spoiled="").select_related("run__change")
    return printed.order_by("-pk").first()


def labels_left_in(place: Place) -> "QuerySet[PrintedLabel]":
    """Return the labels not spoiled that were printed for a place and all inside it."""
    return PrintedLabel.objects.filter(
        spoiled="", place__path__gte=place.path, place__path__lt=after_all_inside(place)
    ).exclude(noun="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """When a label was last scanned, and by whom; by no one known after its time."""

    at: datetime
    by: str


def latest_sighting(tag: Tag) -> Seen | None:
    """Return when a tag was last scanned, and by whom."""
    scan = Sighting.objects.filter(tag=tag).select_related("by").order_by("-at", "-pk").first()
    return None if scan is None else Seen(at=scan.at, by=scan.by.get_username() if scan.by else "")


def runs() -> "QuerySet[PrintRun]":
    """Return all print runs, the latest first."""
    return PrintRun.objects.select_related("change__actor").order_by("-pk")


def blank_count(run: PrintRun) -> int:
    """Return how many tags of a run hang on nothing yet."""
    hangs_on_nothing = {f"tag__{noun}__isnull": True for noun in TAGGED}
    return run.labels.filter(tag__isnull=False, tag__voided="", **hangs_on_nothing).count()
