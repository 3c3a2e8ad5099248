"""Verbs for whole buildings: renumber their flats, retire one with all that stands in it."""

from collections.abc import Iterable, Sequence

from django.db.models import F, Q, QuerySet

from records.changes import _search, bookings, cables, channels, equipment, joints, places
from records.changes._checks import existing, present_place, text
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, NameTaken
from records.models import Booking, Cable, Channel, Equipment, Joint, JointEnd, Place, Point
from records.queries.engine import Row, ids, in_ids, rows
from records.queries.names import address, cable_name
from records.queries.words import counted


@verb
def renumber(change: OpenChange, *, flats: Sequence[int], names: Sequence[str]) -> list[Place]:
    """Give flats new names all at once, so that two may swap theirs.

    Lines keep their identifiers. Raises: Malformed, Missing, NameTaken.
    """
    found = [existing(Place.objects, flat, field="flats") for flat in flats]
    wanted = [text(name, 80, field="names", needed=True) for name in names]
    if len(found) != len(wanted) or not found or len(set(flats)) != len(found):
        raise Malformed(
            f"{len(found)} flats and {len(wanted)} names are given.",
            hint="Give one name for each flat, and each flat once.",
            field="names",
        )
    _refuse_twins(found, wanted)

    before = [place.name for place in found]
    for place, name in zip(found, wanted, strict=True):
        place.name = name
    Place.objects.bulk_update(found, ["name"], batch_size=500)
    for place in found:
        _search.index_below(place)
    pairs = ", ".join(f"{old} is now {new}" for old, new in zip(before, wanted, strict=True))
    change.say(f"renumbered {len(found)} flats of {_around(found[0])}: {pairs}")
    return found


def _refuse_twins(found: list[Place], wanted: list[str]) -> None:
    """Refuse two of one name side by side, among the renumbered and those that stay."""
    renumbered = {place.pk for place in found}
    taken: set[tuple[str, str]] = set()
    for parent in {place.path[: -Place.steplen] for place in found}:
        siblings = Place.objects.filter(
            path__startswith=parent, depth=len(parent) // Place.steplen + 1
        )
        taken |= {(parent, each.name.casefold()) for each in siblings if each.pk not in renumbered}
    for place, name in zip(found, wanted, strict=True):
        key = place.path[: -Place.steplen], name.casefold()
        if key in taken:
            raise NameTaken(
                f"There would be two places called {name} in {_around(place)}.",
                hint="Give each its own name.",
                field="names",
                subjects=(place.pk,),
            )
        taken.add(key)


def _around(place: Place) -> str:
    parent = Place.objects.get_parent(place)
    return address(parent) if parent else "the estates"


@verb
def retire(change: OpenChange, place: int) -> Place:
    """Retire a building with all that stands in it: part, release, remove, retire.

    Cables that lie wholly inside go too; those that lead out stay on record, parted here, and are
    named in a warning. What hung below and stands elsewhere goes dark. Raises: Missing,
    PlaceRetired, and StandbyUnfit while a channel in it has a standby elsewhere.
    """
    found = present_place(place, field="place")
    inside = Place.objects.filter(path__startswith=found.path)
    standing = list(Equipment.objects.filter(place__in=inside).order_by("pk"))
    lying = list(Cable.objects.filter(a_place__in=inside, b_place__in=inside).order_by("pk"))
    parted = _part(change, _joints_of(standing, lying))
    _darken(change, standing)
    released = _release(change, inside, standing)

    for each in standing:
        equipment.remove(change, each.pk)
    for cable in lying:
        cables.remove(change, cable.pk)
    _warn_of_cables(change, inside)
    places.retire(change, place)
    change.say(
        f"retired {address(found)}: {counted(parted, 'joint')} parted, "
        f"{counted(released, 'booking')} released, "
        f"{len(standing)} equipment and {counted(len(lying), 'cable')} removed"
    )
    return found


def _joints_of(standing: list[Equipment], lying: list[Cable]) -> set[int]:
    points = Point.objects.filter(Q(equipment__in=standing) | Q(passage__cable__in=lying))
    ends = JointEnd.objects.filter(point__in=points).values_list("joint_id", flat=True)
    housed = Joint.objects.filter(stands_in__in=standing).values_list("pk", flat=True)
    return {*ends, *housed}


def _part(change: OpenChange, wanted: set[int]) -> int:
    """Part joints, those nearest to the light first: all below them is dark then."""
    nearest: list[Row] = rows(
        f"""SELECT joint_end.joint_id, MIN(feed.down_typical_mdb) FROM records_jointend joint_end
            JOIN records_feed feed ON feed.point_id = joint_end.point_id
            WHERE {in_ids("joint_end.joint_id")} GROUP BY joint_end.joint_id""",
        [ids(wanted)],
    )
    lit = [joint for joint, _mdb in sorted(nearest, key=lambda row: row[1])]
    for joint in (*lit, *sorted(wanted.difference(lit))):
        joints.part(change, joint)
    return len(wanted)


def _darken(change: OpenChange, standing: list[Equipment]) -> None:
    lit = Channel.objects.filter(point__equipment__in=standing)
    standbys_first = F("standby_for").desc(nulls_last=True)
    for channel in lit.order_by(standbys_first, "pk"):
        channels.darken(change, channel.pk)


def _release(change: OpenChange, inside: "QuerySet[Place]", standing: list[Equipment]) -> int:
    promised = Booking.objects.open().filter(
        Q(leg__equipment__in=standing) | Q(line__place__in=inside)
    )
    legs = list(promised.order_by("leg_id").values_list("leg_id", flat=True))
    for leg in legs:
        bookings.release(change, leg)
    return len(legs)


def _warn_of_cables(change: OpenChange, inside: "QuerySet[Place]") -> None:
    leading_out: Iterable[Cable] = Cable.objects.filter(
        Q(a_place__in=inside) | Q(b_place__in=inside)
    ).select_related("a_place", "b_place")
    for cable in leading_out:
        change.warn(f"{cable_name(cable)} still leads there; part of it may be in use")
