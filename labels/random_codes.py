"""Tag codes drawn at random. Only faces draw: below them codes are arguments."""

import secrets
from collections.abc import Iterator

from records.models.tag_code import NUMBER_COUNT, candidate


def random_codes() -> Iterator[str]:
    """Yield random codes without end."""
    while True:
        code = candidate(secrets.randbelow(NUMBER_COUNT))
        if code is not None:
            yield code
