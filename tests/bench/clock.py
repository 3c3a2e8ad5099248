"""How long work takes, as a ratio to the same work in raw SQL."""

import statistics
import time
from collections.abc import Callable

ROUNDS = 30


def median_ms(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the median time of some work in milliseconds, after one round to warm up."""
    work()
    return statistics.median(_once_ms(work) for _ in range(rounds))


def _once_ms(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return (time.perf_counter() - started) * 1000


def beside_ms(
    ours: Callable[[], object], raw: Callable[[], object], rounds: int = ROUNDS
) -> tuple[float, float]:
    """Return the median times of ours and of raw, taken in turn.

    Whatever else the machine does then slows both.
    """
    ours()
    raw()
    pairs = [(_once_ms(ours), _once_ms(raw)) for _ in range(rounds)]
    return (
        statistics.median(pair[0] for pair in pairs),
        statistics.median(pair[1] for pair in pairs),
    )


def own_ms(work: Callable[[], object], rounds: int = 10) -> float:
    """Return the time that this process was at work, which a busy machine hardly lengthens.

    With SQLite that is all there is; with PostgreSQL its server's share is left out.
    """
    work()
    started = time.process_time()
    for _ in range(rounds):
        work()
    return (time.process_time() - started) * 1000 / rounds
