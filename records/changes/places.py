"""Verbs for places: add, rename, retire, reinstate."""

from records.changes import _search, lines
from records.changes._checks import choice, existing, present_place, text, whole
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, NameTaken, Refusal
from records.models import Equipment, Noun, Place, PlaceKind
from records.queries.names import address

STOREYS = (-20, 200)
"""Floors a building can have, ground floor 0 (common practice)."""


class PlaceInUse(Refusal):
    """A place that can't be retired while things stand in it."""

    code = "place_in_use"


class NotRetired(Refusal):
    """A bringing back of a place that is there, or inside one that is not."""

    code = "not_retired"


@verb
def add(
    change: OpenChange,
    *,
    kind: str,
    name: str,
    parent: int | None = None,
    storey: int | None = None,
    note: str = "",
) -> Place:
    """Add a place inside another, or as a new estate at the top.

    A dwelling (flat, house, unit) gets its first line at once.
    Raises: Malformed, Missing, NameTaken, PlaceRetired.
    """
    choice(kind, PlaceKind.values, field="kind")
    name = text(name, 80, field="name", needed=True)
    above = present_place(parent, field="parent") if parent is not None else None
    _refuse_inside_dwelling(above)
    _refuse_twin(above, name)
    if storey is not None:
        whole(storey, *STOREYS, field="storey", noun="storey")

    columns = {"kind": kind, "name": name, "storey": storey, "note": text(note, 300, field="note")}
    place: Place = (
        Place.objects.add_child(above, columns) if above else Place.objects.add_root(columns)
    )
    _search.index_places([place])
    if place.is_dwelling:
        lines.open(change, place=place.pk)
    change.say(f"added {place.get_kind_display()} {address(place)}")
    return place


def _refuse_inside_dwelling(above: Place | None) -> None:
    if above is not None and above.is_dwelling:
        raise Malformed(
            f"{address(above)} is a {above.kind}; nothing can be put inside it.",
            hint="Choose the floor or building around it.",
            field="parent",
        )


def _refuse_twin(above: Place | None, name: str) -> None:
    siblings = Place.objects.get_children(above) if above else Place.objects.get_root_nodes()
    if siblings.filter(name__iexact=name).exists():
        around = f" in {address(above)}" if above else ""
        raise NameTaken(
            f"There is already a place called {name}{around}.",
            hint="Use that one, or give this one another name.",
            field="name",
        )


@verb
def rename(change: OpenChange, place: int, *, name: str) -> Place:
    """Give a place another name. Raises: Malformed, Missing, NameTaken."""
    found: Place = existing(Place.objects, place, field="place")
    name = text(name, 80, field="name", needed=True)
    before = address(found)
    if name.casefold() != found.name.casefold():
        _refuse_twin(Place.objects.get_parent(found), name)

    Place.objects.filter(pk=place).update(name=name)
    found.name = name
    _search.index_below(found)
    change.say(f"renamed {before} to {name}")
    return found


@verb
def retire(change: OpenChange, place: int) -> None:
    """Mark a place and all inside it as no longer there. Raises: Missing, PlaceInUse."""
    found = existing(Place.objects, place, field="place")
    inside = Place.objects.filter(path__startswith=found.path)
    standing = Equipment.objects.filter(place__in=inside).first()
    if standing is not None:
        raise PlaceInUse(
            f"{address(found)} still holds {standing.name}.",
            hint="Move or remove the equipment first.",
            subjects=(place,),
        )
    lines.refuse_promised(inside, address(found))

    inside.update(retired=True)
    for each in inside:
        _search.forget(Noun.PLACE, each.pk)
    change.say(f"retired {address(found)}")


@verb
def reinstate(change: OpenChange, place: int) -> Place:
    """Mark a retired place and all inside it as there again. Raises: Missing, NotRetired."""
    found: Place = existing(Place.objects, place, field="place")
    around = Place.objects.get_ancestors(found).filter(retired=True).first()
    if around is not None:
        raise NotRetired(
            f"{address(found)} lies in {around}, which is retired too.",
            hint=f"Bring {around} back, with all inside it.",
            field="place",
            subjects=(around.pk,),
        )
    if not found.retired:
        raise NotRetired(
            f"{address(found)} is not retired.", hint="Check which place is meant.", field="place"
        )

    Place.objects.filter(path__startswith=found.path).update(retired=False)
    found.retired = False
    _search.index_below(found)
    change.say(f"reinstated {address(found)}")
    return found
