"""The chapters in order."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from django.contrib.auth.models import AbstractBaseUser

from records.changes import catalogue
from records.intake.scenario import _blocks, _cottages, _head_end, _labels, _since
from records.intake.scenario._diary import FIRST_REASON, Diary

Told = Callable[[str], None]


def build(
    *,
    actor: AbstractBaseUser,
    at: datetime,
    printer: _labels.Printer,
    fixtures: Path,
    told: Told = lambda _chapter: None,
) -> None:
    """Build the demo in an empty record, its last change on the day before `at`.

    `actor` is an owner, being planner and second look in one; `printer` prints its labels,
    `fixtures` is the folder with the catalogue and the sheets; `told` hears of each chapter as it
    begins.
    """
    diary = Diary(actor, at, fixtures)
    told("catalogue")
    with diary.day(70, FIRST_REASON) as change:
        catalogue.load(change, fixtures / "catalogue")
    chapters: dict[str, Callable[[Diary], None]] = {
        "head-end and feeder": _head_end.build,
        "blocks A, B and C": _blocks.build,
        "cottages": _cottages.build,
        "labels": lambda diary: _labels.build(diary, printer),
        "what happened since": _since.build,
    }
    for name, chapter in chapters.items():
        told(name)
        chapter(diary)
