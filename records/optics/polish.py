"""Tell which connector polishes may meet.

PC and UPC ends are square and mate with each other; an APC end is cut at an angle and mates only
with its like. A square end against an angled one touches at an edge: it loses more than 3 dB,
reflects, and can mark both ends. It is a fault to refuse, not a loss to plan.

Source: text of the French cabling association; the loss, 3.68 dB at 1310 nm and 3.38 dB at
1550 nm on average, from one operator's trial.
"""

from enum import StrEnum


class Polish(StrEnum):
    """How the end of a connector is finished, by the trade's names."""

    PC = "PC"
    UPC = "UPC"
    APC = "APC"


# What an end reflects at most, in dB. Source: text of the French cabling association.
REFLECTANCE_MAX_DB = {Polish.PC: -30.0, Polish.UPC: -50.0, Polish.APC: -60.0}


def may_mate(one: Polish, other: Polish) -> bool:
    """Tell whether two polishes may be mated; says nothing of the connectors' shapes.

    >>> may_mate(Polish.PC, Polish.UPC), may_mate(Polish.APC, Polish.UPC)
    (True, False)
    """
    return (one == Polish.APC) == (other == Polish.APC)
