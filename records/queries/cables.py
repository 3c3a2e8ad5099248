"""The fibres of a cable: colours, conditions, and what each end is joined to."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from records.models import Cable
from records.optics.colours import Colour, place_of_fibre
from records.optics.colours import ColourScheme as Scheme
from records.queries.engine import Row, ids, in_ids, rows
from records.queries.names import named_points

_FIBRES = """
SELECT fibre.cable_id, fibre.id, fibre.number, fibre.damage, fibre.length_cm, fibre.measured_mdb,
       a_end.id, a_end.polish, a_joint.joint_id, a_far.point_id,
       b_end.id, b_end.polish, b_joint.joint_id, b_far.point_id
FROM records_passage fibre
JOIN records_point a_end ON a_end.passage_id = fibre.id AND a_end.side = 0
JOIN records_point b_end ON b_end.passage_id = fibre.id AND b_end.side = 1
LEFT JOIN records_jointend a_joint ON a_joint.point_id = a_end.id
LEFT JOIN records_jointend a_far
  ON a_far.joint_id = a_joint.joint_id AND a_far.side <> a_joint.side
LEFT JOIN records_jointend b_joint ON b_joint.point_id = b_end.id
LEFT JOIN records_jointend b_far
  ON b_far.joint_id = b_joint.joint_id AND b_far.side <> b_joint.side
WHERE {cables}
ORDER BY fibre.cable_id, fibre.number
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One end of a fibre and what it is joined to."""

    point_id: int
    polish: str
    joint_id: int | None
    joined_to_id: int | None
    joined_to: str

    @property
    def is_terminated(self) -> bool:
        """Tell whether the end is joined or carries a connector."""
        return self.joint_id is not None or bool(self.polish)


@dataclass(frozen=True, slots=True, kw_only=True)
class FibreOf:
    """One fibre of a cable. `colour` is empty where the cable has no colour scheme."""

    passage_id: int
    number: int
    colour: str
    damage: str
    length_m: float
    measured_loss_db: float | None
    a_end: End
    b_end: End

    @property
    def condition(self) -> str:
        """Return damaged, used (both ends joined), available (both terminated) or unterminated."""
        if self.damage:
            return "damaged"
        ends = (self.a_end, self.b_end)
        if all(end.joint_id is not None for end in ends):
            return "used"
        return "available" if all(end.is_terminated for end in ends) else "unterminated"


def fibres(cable: Cable) -> list[FibreOf]:
    """Return the fibres of a cable in order, with a fixed number of queries."""
    return fibres_of([cable]).get(cable.pk, [])


def fibres_of(cables: Iterable[Cable]) -> dict[int, list[FibreOf]]:
    """Return the fibres of many cables in order, with the same number of queries."""
    scheme_of = {each.pk: each.colour_scheme_id for each in cables}
    schemes = colour_schemes(scheme_of.values())
    found = rows(_FIBRES.format(cables=in_ids("fibre.cable_id")), [ids(scheme_of)])
    names = named_points(far for row in found for far in (row[9], row[13]) if far)
    by_cable: dict[int, list[FibreOf]] = {}
    for cable, *row in found:
        scheme = schemes.get(scheme_of[cable])
        by_cable.setdefault(cable, []).append(_fibre(row, scheme, names))
    return by_cable


def _fibre(row: list[Any], scheme: Scheme | None, names: dict[int, str]) -> FibreOf:
    return FibreOf(
        passage_id=row[0],
        number=row[1],
        colour=str(place_of_fibre(scheme, row[1])) if scheme else "",
        damage=row[2],
        length_m=row[3] / 100,
        measured_loss_db=None if row[4] is None else row[4] / 1000,
        a_end=_end(row[5:9], names),
        b_end=_end(row[9:13], names),
    )


def _end(row: list[Any], names: dict[int, str]) -> End:
    point, polish, joint, far = row
    return End(
        point_id=point,
        polish=polish,
        joint_id=joint,
        joined_to_id=far,
        joined_to=names.get(far, ""),
    )


_SCHEMES = """
SELECT scheme.id, scheme.name, scheme.group_size, colour.element, colour.colour, colour.mark
FROM records_colourscheme scheme
LEFT JOIN records_schemecolour colour ON colour.scheme_id = scheme.id
WHERE {wanted} ORDER BY scheme.id, colour.position
"""


def colour_schemes(scheme_ids: Iterable[int | None]) -> dict[int | None, Scheme]:
    """Return colour schemes as optics names colours by them, with one query; None has none.

    They are read each time: another process may have loaded more of a scheme.
    """
    wanted = {each for each in scheme_ids if each is not None}
    if not wanted:
        return {}
    found = rows(_SCHEMES.format(wanted=in_ids("scheme.id")), [ids(wanted)])
    colours: dict[Row, list[Row]] = {}
    for row in found:
        colours.setdefault(row[:3], []).append(row[3:])
    return {head[0]: _scheme(head, listed) for head, listed in colours.items()}


def _scheme(head: Row, colours: list[Row]) -> Scheme:
    _id, name, group_size = head

    def of(element: str) -> tuple[Colour, ...]:
        return tuple(Colour(name=each, mark=mark) for at, each, mark in colours if at == element)

    return Scheme(name=name, fibres=of("fibre"), tubes=of("tube"), group_size=group_size)
