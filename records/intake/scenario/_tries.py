"""What to try in the demo, from fixtures/demo/what_to_try.md."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

_LINK = re.compile(r"\[([^\]]+)\]\(([^)]+)\)")


class Part(NamedTuple):
    """Some words of what to do, and the address they lead to, if any."""

    words: str
    address: str = ""


class Try(NamedTuple):
    """One thing to do, in parts, and what it shows."""

    parts: tuple[Part, ...]
    see: str

    @property
    def do(self) -> str:
        """Return what to do as plain words."""
        return "".join(part.words for part in self.parts)


def what_to_try(fixtures: Path) -> tuple[Try, ...]:
    """Return the things to try: the lines `- what to do: what it shows`."""
    text = (fixtures / "demo" / "what_to_try.md").read_text(encoding="utf-8").replace("`", "")
    lines = (line.removeprefix("- ") for line in text.splitlines() if line.startswith("- "))
    told = (line.partition(": ") for line in lines)
    return tuple(Try(tuple(_parts(do)), see) for do, _, see in told)


def _parts(text: str) -> Iterator[Part]:
    """Yield the words of a line; every third piece of it is an address."""
    pieces = [*_LINK.split(text), "", ""]
    for plain, linked, address in zip(pieces[::3], pieces[1::3], pieces[2::3], strict=True):
        yield from (Part(plain), Part(linked, address))
