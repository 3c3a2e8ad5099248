"""Part of chapter five: work that is planned. One job is built and not recorded, one a draft.

The draft is one to think again about: eight homes would be out of class by half a decibel.
"""

from datetime import timedelta
from typing import Any

from records.changes import OpenChange, jobs
from records.intake.scenario._diary import Diary, entry, equipment, place, port
from records.models import Cable, EntryKind, Job, Line, Place, Role

_MENDED, _ENLARGED = "A new drop for Cottage 4", "S-B1 becomes a 1:16, with a leg for Flat 604"


def build(diary: Diary) -> None:
    """Plan two jobs, and have one of them done on site."""
    with diary.day(3, _MENDED) as change:
        mended = _draft_new_drop(change, diary)
    diary.try_out(3, mended)
    with diary.day(3, _MENDED, job=mended.pk) as change:
        jobs.approve(change, mended.pk, revision=mended.revision)
    with diary.day(2, "The crew was there, the record follows", job=mended.pk) as change:
        jobs.mark_built(change, mended.pk)
    with diary.day(2, _ENLARGED) as change:
        enlarged = _draft_larger_splitter(change, diary)
    diary.try_out(2, enlarged)


def _draft_new_drop(change: OpenChange, diary: Diary) -> Job:
    drop = Cable.objects.get(name="DR-4").pk
    terminal = port("Terminal", Role.TERMINAL, at="Cottage 4")
    reading = {"wavelength_nm": 1490, "level_dbm": -18.1, "meter": "PM-1"}
    return jobs.draft(
        change,
        name=_MENDED,
        reference="AC-41",
        place=place("Cottage 4"),
        assignee=diary.actor.pk,
        due_date=(diary.today - timedelta(days=2)).date(),
        steps=[
            _step("cable_works.swap", "in a duct this time", cable=drop, length_m=41),
            _step("readings.read", "", point=terminal, **reading),
        ],
    )


def _draft_larger_splitter(change: OpenChange, diary: Diary) -> Job:
    block = Place.objects.get(name="Block B")
    line = Line.objects.get(place__name="Flat 604", place__path__startswith=block.path).pk
    splitter, ratio = equipment("S-B1").pk, entry(EntryKind.SPLITTER, "1:16")
    return jobs.draft(
        change,
        name=_ENLARGED,
        reference="AC-42",
        place=block.pk,
        due_date=(diary.today + timedelta(days=9)).date(),
        steps=[
            _step("swaps.swap", "tell the eight homes before", equipment=splitter, entry=ratio),
            _step("bookings.book", "", leg={"step": 1, "port": "leg 9"}, line=line),
        ],
    )


def _step(verb: str, note: str, **arguments: Any) -> dict[str, Any]:
    return {"verb": verb, "arguments": arguments, "note": note}
