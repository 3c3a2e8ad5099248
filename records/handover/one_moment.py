"""Read what is handed over as of one moment, even while the record changes."""

from collections.abc import Iterator
from contextlib import contextmanager

from records.queries.chain import latest_seal
from records.queries.moment import NOW, as_it_stood, number_asked


@contextmanager
def one_moment() -> Iterator[None]:
    """Read in the block what stood at the moment asked for, else after the latest change.

    A document takes many queries: what is recorded between two of them must stay out, or a thing
    is named in one table and missing in the next.
    """
    latest = latest_seal() if number_asked() == NOW else None
    with as_it_stood(latest.number if latest else number_asked()):
        yield
