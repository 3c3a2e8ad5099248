"""What to check first, in the trade's words: for each kind of fault and element, one sentence.

`{name}` stands for the element's name. Source: common practice; inspect and clean before mating
is IEC 61300-3-35.
"""

from records.light.faults import Kind

_CLEAN = "Inspect and clean both end faces at {name}, mate them again, read again."
_BEND = "Look along {name} for a tight bend, a pinch or a cable tie; free it and read again."

_EXTRA_LOSS = {
    "mated": _CLEAN,
    "adapter": _CLEAN,
    "fusion": "Open the tray at {name}; look for a tight loop, else splice it again.",
    "mechanical": "Open {name} and close it again; if it still loses light, fuse it.",
    "fibre": _BEND,
    "leg": "Move the home from {name} to a spare leg and read again.",
    "splitter": "Read the input and one spare leg of {name}; if the input is good, replace it.",
    "device": "Read before and after {name}; if it loses more than its type allows, replace it.",
    "launch": "Read {name} itself with a clean cord; if it is weak, change the transceiver.",
}
_BREAK = {
    "mated": "Check that both plugs at {name} are in, and whole.",
    "adapter": "Check that both plugs at {name} are in, and whole.",
    "fusion": "Open the tray at {name} and look for a broken fibre.",
    "mechanical": "Open {name} and look whether both fibres are still in.",
    "fibre": "Follow {name} for a cut or a crushed place; a red light source from below shows it.",
    "leg": "Read {name} itself; if it is dark while others of the splitter are lit, bar it.",
    "splitter": "Read the input of {name}; if it is lit and all legs are dark, replace it.",
    "device": "Read before and after {name}.",
    "launch": "Check that {name} is switched on and sends.",
}


def first_check(kind: Kind, element_kind: str) -> str:
    """Return the sentence for a fault of some kind in an element of some kind."""
    return (_BREAK if kind == Kind.DEAD else _EXTRA_LOSS)[element_kind]
