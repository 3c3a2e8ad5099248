"""The types that hold for a whole sheet, as its columns name none: the commonest of each."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from records.handover.exports.home_wiring import Wiring
from records.handover.exports.tables import CM_PER_M
from records.handover.names import Names
from records.models import JointKind


def assumed_types(wirings: Iterable[Wiring], names: Names) -> dict[str, str | float]:
    """Return what to assume when a sheet is taken in, by the intake's own names.

    Only what the homes of the sheet tell: where none has a terminal, nothing is said of one.
    """
    counted: dict[str, Counter[str | float]] = {}
    for wiring in wirings:
        for name, value in types_of(wiring, names).items():
            counted.setdefault(name, Counter())[value] += 1
    return {name: values.most_common(1)[0][0] for name, values in sorted(counted.items())}


def types_of(wiring: Wiring, names: Names) -> dict[str, str | float]:
    """Return the types that one home tells of."""
    told: dict[str, str | float] = {}
    if wiring.leg is not None:
        told["splitter_polish"] = wiring.leg.polish
    if wiring.drop is not None:
        told |= _of_drop(wiring)
    if wiring.patch is not None:
        received = wiring.patch.terminal.optical_class
        told |= {
            "terminal": names.equipment(wiring.patch.terminal),
            "terminal_class": str(received) if received else "",
            "cord_length_m": wiring.patch.cord.length_cm / CM_PER_M,
        }
    return told


def _of_drop(wiring: Wiring) -> Mapping[str, Any]:
    drop, outlet = wiring.drop, wiring.outlet
    told: dict[str, str | float] = {}
    if drop is None or outlet is None:
        return told
    scheme = drop.cable.colour_scheme
    told |= {"fibre": drop.cable.entry.name, "colour_scheme": scheme.name if scheme else ""}
    if wiring.front is not None:
        told["outlet_polish"] = wiring.front.polish
    if outlet.entry is not None:
        told["mated"] = outlet.entry.name
    if drop.splice.kind != JointKind.MATED:
        told["splice"] = drop.splice.entry
    return told
