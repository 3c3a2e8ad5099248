"""Open the changes of the story, each on its day, and find things again by their names."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

from django.contrib.auth.models import AbstractBaseUser

from records import changes, intake
from records.changes import OpenChange, cables, jobs, joints
from records.models import (
    Cable,
    CatalogueEntry,
    Equipment,
    Job,
    JointEnd,
    JointKind,
    OpticalClass,
    Place,
    Point,
)

ESTATE = "Alder Court"
FIRST_REASON = "Demo: the catalogue for the invented estate Alder Court"
LATEST_REASON = "S-A1: losses of the first legs from its test sheet"
"""The reasons of the first and the last change, by which a whole demo is known."""


class Diary:
    """Who builds, and when: the last page is the day before `today`."""

    def __init__(self, actor: AbstractBaseUser, today: datetime, fixtures: Path) -> None:
        """Begin at the first page."""
        self.actor = actor
        self.today = today
        self._sheets = fixtures / "demo"

    @contextmanager
    def day(self, days_ago: int, reason: str, *, job: int | None = None) -> Iterator[OpenChange]:
        """Open a change some days ago, on a job's behalf if one is given."""
        at = self.today - timedelta(days=days_ago)
        with changes.opened(actor=self.actor, at=at, reason=reason, job=job) as change:
            yield change

    def try_out(self, days_ago: int, job: Job) -> None:
        """Preview a job some days ago; it must not clash."""
        told = jobs.preview(job.pk, actor=self.actor, at=self.today - timedelta(days=days_ago))
        if told.clash:
            raise RuntimeError(f"{job}: {told.clash.message}")

    def take_in(
        self, days_ago: int, sheet: str, reason: str, assumptions: intake.Assumptions
    ) -> None:
        """Take in a crew's sheet."""
        with (self._sheets / sheet).open("rb") as file:
            plan = intake.check(intake.load(file), estate=ESTATE, assumptions=assumptions)
        at = self.today - timedelta(days=days_ago)
        intake.commit(plan, actor=self.actor, at=at, reason=reason)


def place(name: str) -> int:
    """Return a place by its name, the first of several."""
    return int(Place.objects.filter(name=name).order_by("path")[0].pk)


def riser(building: str) -> int:
    """Return the riser cupboard on the ground floor of a building."""
    block = Place.objects.get(name=building)
    return int(Place.objects.get_children(block).get(name="Riser").pk)


def equipment(name: str, place_name: str = "") -> Equipment:
    """Return an equipment by its name, and that of its place where several have it."""
    found = Equipment.objects.filter(name=name)
    return (found.filter(place__name=place_name) if place_name else found).get()


def port(name: str, role: str, number: int = 1, *, at: str = "") -> int:
    """Return a port by the name of its equipment."""
    return Point.objects.get(equipment=equipment(name, at), role=role, number=number).pk


def fibre_end(cable: str, number: int, role: str) -> int:
    """Return an end of a fibre by the name of its cable."""
    return Point.objects.get(passage__cable__name=cable, number=number, role=role).pk


def entry(kind: str, name: str) -> int:
    """Return a catalogue entry."""
    return CatalogueEntry.objects.get(kind=kind, name=name).pk


def optical_class(system: str, name: str) -> int:
    """Return a class."""
    return OpticalClass.objects.get(system=system, name=name).pk


def splice(
    change: OpenChange,
    near: int,
    far: int,
    *,
    housing: str,
    tray: int,
    loss_db: float | None = None,
) -> None:
    """Splice two ends on a tray of a housing."""
    joints.join(
        change,
        near,
        far,
        kind=JointKind.FUSION,
        stands_in=equipment(housing).pk,
        tray=str(tray),
        loss_db=loss_db,
    )


def unplug(change: OpenChange, at: int) -> None:
    """Take away the cord that is plugged into a port."""
    ends = JointEnd.objects.filter(joint__ends__point=at).exclude(point=at)
    cord = Cable.objects.get(fibres__points__joint_end__in=ends)
    for joint in set(
        JointEnd.objects.filter(point__passage__cable=cord).values_list("joint", flat=True)
    ):
        joints.part(change, joint)
    cables.remove(change, cord.pk)
