"""Take what is joined to a point off it and put it on another: the same plug or fibre end."""

from typing import NamedTuple

from records.changes import joints
from records.changes._transaction import OpenChange
from records.models import Joint, JointEnd


class Loose(NamedTuple):
    """What hung on a point, and how. A measured loss was that of the joint, and is gone."""

    mate: int
    is_first: bool
    kind: str
    entry: int
    stands_in: int | None
    tray: str


def take_off(change: OpenChange, point: int) -> Loose | None:
    """Part the joint at a point and return what hung there; None where nothing did."""
    end = JointEnd.objects.filter(point_id=point).select_related("joint").first()
    if end is None:
        return None
    joint = end.joint
    mate = JointEnd.objects.filter(joint=joint).exclude(point_id=point).get()
    joints.part(change, joint.pk)
    is_first = mate.side < end.side
    return Loose(
        mate.point_id, is_first, joint.kind, joint.entry_id, joint.stands_in_id, joint.tray
    )


def put_on(change: OpenChange, loose: Loose, point: int) -> Joint:
    """Join what was taken off to a point, in the same way. Raises: what `joints.join` raises."""
    a, b = (loose.mate, point) if loose.is_first else (point, loose.mate)
    return joints.join(
        change,
        a,
        b,
        kind=loose.kind,
        entry=loose.entry,
        stands_in=loose.stands_in,
        tray=loose.tray,
    )
