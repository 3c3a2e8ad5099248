"""A process that is killed in the middle of a job's commit: started by the test of crashes.

    python tests/races/dying.py JOB STEPS

Commits a job and kills itself with SIGKILL once it has done so many of its steps.
"""

import os
import signal
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from unittest.mock import patch

import django


def main(job: int, steps_done: int) -> None:
    """Commit a job, and die in the middle of it."""
    sys.path.insert(0, str(Path(__file__).parents[2]))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    django.setup()
    from django.contrib.auth import get_user_model  # noqa: PLC0415 (needs Django's set-up)

    from records.changes import jobs, steps  # noqa: PLC0415

    run, done = steps.run, 0

    def run_or_die(*told: Any) -> Any:
        nonlocal done
        if done == steps_done:
            os.kill(os.getpid(), signal.SIGKILL)
        done += 1
        return run(*told)

    actor = get_user_model().objects.get(username="crew")
    at = datetime(2026, 3, 2, tzinfo=UTC)
    with patch.object(steps, "run", run_or_die):
        jobs.commit(job, revision=1, actor=actor, at=at)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
