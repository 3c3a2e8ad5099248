"""Refusals: why a change was not made. Nothing of a refused change is left behind.

    Refusal
    ├── Busy                another change took too long; try again       (_transaction)
    ├── Overtaken           someone else changed the same thing just now  (_transaction)
    ├── Malformed           a value out of its range or form              (here)
    ├── Missing             a thing that does not exist                   (here)
    ├── NameTaken           a name or serial that another thing has       (here)
    ├── StillJoined         removing or moving what is still joined       (here)
    ├── PlaceRetired        something for a place that is no longer there (here)
    ├── NotMeasured         taking back what was never measured           (here)
    ├── JobSaved            the later of two saves of one job             (here)
    ├── places.py           PlaceInUse, NotRetired
    ├── lines.py            NotADwelling, LineStillBooked
    ├── equipment.py        EquipmentInUse
    ├── _ends.py            PointJoined, SamePoint, WrongPolish, BareEnd, BothSend
    ├── joints.py           NotJoined
    ├── _light.py           Loop, SecondPath, FacingLight, SameWavelength, WrongWay
    ├── _serving.py         LegOfAnother, NoLineFree, LegBarredLit, LegNotSpare
    ├── _leading.py         LedAstray
    ├── _promising.py       LegBooked, LineBooked, LegBarred, LegOnward, LegLightsAnother
    ├── bookings.py         NothingBooked, StillLit, NotBarred
    ├── channels.py         ChannelTaken, StandbyUnfit
    ├── tags.py             TagBound, TagVoided
    ├── catalogue.py        Superseded
    ├── retention.py        OwnersOnly, NothingToForget, OwnAccount
    ├── prints.py           LabelOvertaken, LabelSpoiled, NoBlankLeft
    ├── hazards.py          StatementWithdrawn
    ├── swaps.py            PortLacking
    ├── cable_works.py      FibreLacking
    ├── undo.py             NotReversible
    ├── steps.py            StepMalformed, StepRefused
    └── _job_checks.py      JobNotReady, NotPreviewed, JobClashes, OwnPlan, PreviewOutdated,
                            StepRecorded, StepNotNext

Each subclass stands beside the verb that raises it. A refusal says the thing and the clash; its
hint says what to do next; `field` names the argument at fault where there is one.
"""

from typing import Any, ClassVar


class Refusal(Exception):  # noqa: N818 (a refusal is an answer, not an error of the program)
    """A change that was not made, and why."""

    code: ClassVar[str] = "refused"
    status: ClassVar[int] = 409

    def __init__(
        self, message: str, *, hint: str, field: str = "", subjects: tuple[Any, ...] = ()
    ) -> None:
        """Say what clashed, what to do, and which things are concerned.

        A message that begins with what a thing is called, such as 'leg 7 of S1', is given its
        capital here, so that every face shows a whole sentence.
        """
        self.message = message[:1].upper() + message[1:]
        super().__init__(self.message)
        self.hint = hint
        self.field = field
        self.subjects = subjects

    def __str__(self) -> str:
        return f"{self.message} {self.hint}"


class Malformed(Refusal):
    """A value that is out of its range or not of its form."""

    code = "malformed"
    status = 422


class Missing(Refusal):
    """A thing that does not exist, or no longer does."""

    code = "missing"
    status = 404


class NameTaken(Refusal):
    """A name or serial that another thing already has."""

    code = "name_taken"


class StillJoined(Refusal):
    """A thing that can't go while its points are joined."""

    code = "still_joined"


class PlaceRetired(Refusal):
    """Something for a place that is no longer there."""

    code = "place_retired"


class NotMeasured(Refusal):
    """A taking back of a measurement that was never recorded."""

    code = "not_measured"


class JobSaved(Refusal):
    """A save of a job that started from an older version than is saved now."""

    code = "job_saved"
