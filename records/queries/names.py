"""What things are called in words, the same on every screen, label and message."""

from collections.abc import Iterable, Mapping

from records.models import Cable, CatalogueEntry, Channel, Equipment, Place, Point, Role


def address(place: Place) -> str:
    """Return a place's name with those of the places around it, widest first."""
    return ", ".join([*(each.name for each in Place.objects.get_ancestors(place)), place.name])


def addresses(places: Iterable[Place]) -> dict[int, str]:
    """Return the addresses of many places with one query."""
    listed = list(places)
    paths = {each.path[:end] for each in listed for end in _prefixes(each.path)}
    names = dict(Place.objects.filter(path__in=paths).values_list("path", "name"))
    return {
        each.pk: ", ".join(names[each.path[:end]] for end in _prefixes(each.path))
        for each in listed
    }


def _prefixes(path: str) -> Iterable[int]:
    return range(Place.steplen, len(path) + 1, Place.steplen)


def equipment_name(equipment: Equipment) -> str:
    """Return the name of an equipment and where it stands."""
    return f"{equipment.name} ({address(equipment.place)})"


def point_name(point: Point) -> str:
    """Return what a point is called, such as 'leg 7 of S1 (Alder Court, Block A, Riser)'."""
    return _point_name(point, address(point.equipment.place) if point.equipment else "")


def _point_name(point: Point, where: str) -> str:
    if point.equipment is not None:
        return f"{port_label(point)} of {point.equipment.name} ({where})"
    passage = point.passage
    if passage is None or passage.cable is None:
        raise ValueError(f"Point {point.pk} belongs to nothing.")
    return f"{point.role} of fibre {passage.number} of {passage.cable.name}"


def port_label(point: Point) -> str:
    """Return what is printed beside a port: its role and number."""
    if point.role == Role.PON:
        return f"PON port {point.number}"
    return f"{point.get_role_display()} {point.number}"


def floor_name(storey: int) -> str:
    """Return what a floor is usually called."""
    if storey == 0:
        return "Ground floor"
    return f"Floor {storey}" if storey > 0 else f"Basement {-storey}"


def cable_name(cable: Cable) -> str:
    """Return the name of a cable and the places it joins."""
    return f"{cable.name} ({cable.a_place} to {cable.b_place})"


def entry_name(entry: CatalogueEntry) -> str:
    """Return what a type of the catalogue is called: 'splitter 1:32', 'fusion splice'."""
    return entry.name if entry.kind in entry.name else f"{entry.kind} {entry.name}"


def named_points(ids: Iterable[int]) -> dict[int, str]:
    """Return the names of many points with two queries."""
    found = Point.objects.filter(pk__in=set(ids)).select_related(
        "equipment__place", "passage__cable"
    )
    return names_of(found, addresses({each.equipment.place for each in found if each.equipment}))


def names_of(points: Iterable[Point], known: Mapping[int, str]) -> dict[int, str]:
    """Return the names of points by the `known` addresses of places, with no query.

    They must have been read with their equipment and cables.
    """
    return {
        point.pk: _point_name(point, known[point.equipment.place_id] if point.equipment else "")
        for point in points
    }


def short_name(point: Point) -> str:
    """Return what a point is called where its place is known, such as 'leg 7 of S1'."""
    if point.equipment is not None:
        return f"{port_label(point)} of {point.equipment.name}"
    return point_name(point)


def channel_names(ids: Iterable[int]) -> dict[int, str]:
    """Return the names of channels, such as 'GPON B+ of PON port 1 of OLT (Alder Court, Hut)'."""
    found = Channel.objects.filter(pk__in=set(ids)).select_related("optical_class")
    ports = named_points(channel.point_id for channel in found)
    return {each.pk: f"{each.optical_class} of {ports[each.point_id]}" for each in found}
