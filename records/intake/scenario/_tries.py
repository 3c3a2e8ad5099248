"""What to try in the demo, from fixtures/demo/what_to_try.md."""

from pathlib import Path
from typing import NamedTuple


class Try(NamedTuple):
    """One thing to do, and what it shows."""

    do: str
    see: str


def what_to_try(fixtures: Path) -> tuple[Try, ...]:
    """Return the things to try: the lines `- what to do: what it shows`."""
    text = (fixtures / "demo" / "what_to_try.md").read_text(encoding="utf-8")
    lines = (line.removeprefix("- ") for line in text.splitlines() if line.startswith("- "))
    return tuple(Try(do, see) for do, _, see in (line.partition(": ") for line in lines))
