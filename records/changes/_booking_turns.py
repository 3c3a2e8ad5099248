"""What became of bookings in sum: a leg that went dark and was lit again is as it was before."""

from collections.abc import Iterable
from typing import Any

_BACK = {"held": "live", "live": "held"}


def in_sum(notes: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the notes of a change in order, but for turns that it took back itself."""
    kept: list[dict[str, Any]] = []
    latest: dict[int, dict[str, Any]] = {}
    for note in notes:
        before = latest.get(note["leg"])
        if before is not None and before["what"] == _BACK.get(note["what"]):
            kept = [each for each in kept if each is not before]
            del latest[note["leg"]]
        else:
            kept.append(note)
            latest[note["leg"]] = note
    return kept
