"""The order of a walk: place by place, in each the cupboard first, then box by box."""

from collections.abc import Iterable

from records.models import Place
from records.queries.words import natural

Walk = tuple[object, ...]

_BELOW_ALL_FLOORS = -1000
"""What stands in a building but on no floor is met first."""


def walks(places: Iterable[Place]) -> dict[int, Walk]:
    """Return the sort key of each place, with one query: outermost first, by storey and name."""
    listed = list(places)
    paths = {each.path[:end] for each in listed for end in _ends(each.path)}
    around = Place.objects.filter(path__in=paths).values_list("path", "name", "storey")
    steps = {
        path: (_BELOW_ALL_FLOORS if storey is None else storey, tuple(natural(name)))
        for path, name, storey in around
    }
    return {each.pk: tuple(steps[each.path[:end]] for end in _ends(each.path)) for each in listed}


def _ends(path: str) -> range:
    return range(Place.steplen, len(path) + 1, Place.steplen)
