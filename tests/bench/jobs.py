# ruff: noqa: PLC0415 - imports wait for Django
"""A job of 50 steps in a 1:32 tree, previewed and recorded, beside its verbs without a job.

python -m tests.bench.jobs
"""

import time
from collections.abc import Callable
from typing import Any

STEPS = 50
ROUNDS = 7


def report() -> None:
    """Print the figures for tree 0 of the network that stands in the database."""
    from django.db import connection

    print(f"\n{connection.vendor}, a job of {STEPS} steps in a 1:32 tree")
    bare_ms = _best_ms(_bare)
    preview_ms = _best_ms(_preview)
    commit_ms = min(_commit() for _ in range(ROUNDS))
    print(f"  its verbs alone, one change: {bare_ms:.0f} ms")
    print(f"  preview: {preview_ms:.0f} ms, ratio {preview_ms / bare_ms:.2f}")
    print(f"  commit: {commit_ms:.0f} ms, ratio {commit_ms / bare_ms:.2f}")


def _best_ms(work: Callable[[], Any]) -> float:
    return min(_timed_ms(work) for _ in range(ROUNDS))


def _timed_ms(work: Callable[[], Any]) -> float:
    started = time.perf_counter()
    work()
    return (time.perf_counter() - started) * 1000


def _steps() -> list[dict[str, Any]]:
    """Return steps that part half the homes from their legs and join each with another loss."""
    from records.models import JointEnd, Point

    found: list[dict[str, Any]] = []
    legs = Point.objects.filter(role="leg", joint_end__isnull=False).order_by("pk")
    for leg in legs[: STEPS // 2]:
        joint = leg.joint_end.joint_id
        far = JointEnd.objects.filter(joint=joint).exclude(point=leg).get().point_id
        joined = {"a": leg.pk, "b": far, "kind": "mated", "loss_db": 0.2 + len(found) / 1000}
        found.append({"verb": "joints.part", "arguments": {"joint": joint}})
        found.append({"verb": "joints.join", "arguments": joined})
    return found


def _bare() -> None:
    from records.changes import VERBS
    from tests.factories import opened

    steps = _steps()
    with opened(preview=True) as change:
        for step in steps:
            VERBS[step["verb"]](change, **step["arguments"])


def _drafted() -> int:
    from records.changes import jobs
    from records.models import Place
    from tests.factories import opened

    place = Place.objects.order_by("path")[0].pk
    with opened() as change:
        return int(jobs.draft(change, name="bench", place=place, steps=_steps()).pk)


def _preview() -> None:
    from records.changes import jobs
    from tests.factories import AT, user

    told = jobs.preview(_job_to_preview(), actor=user(), at=AT)
    if told.clash or len(told.sum.homes) != STEPS // 2:
        raise RuntimeError(f"The job did not do what is measured: {told.clash}")


_known: list[int] = []


def _job_to_preview() -> int:
    if not _known:
        _known.append(_drafted())
    return _known[0]


def _commit() -> float:
    from records.changes import jobs
    from tests.factories import AT, opened, user

    job = _drafted()
    jobs.preview(job, actor=user(), at=AT)
    with opened(actor=user("lead")) as change:
        jobs.approve(change, job, revision=1)
    return _timed_ms(lambda: jobs.commit(job, revision=1, actor=user(), at=AT))


if __name__ == "__main__":
    from tests.bench.database import in_a_network

    in_a_network(report)
