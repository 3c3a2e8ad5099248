"""What a page of a question is about: a thing of any kind, its name, and the way to it."""

from dataclasses import dataclass

from django.http import Http404

from records.models import Cable, Equipment, Place, Point
from records.queries.names import point_name
from records.web import crumbs
from records.web.crumbs import Crumb
from records.web.links import url_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A thing with its noun and name, and the places around it."""

    noun: str
    thing: Point | Equipment | Cable | Place
    name: str
    around: list[Crumb]

    @property
    def crumb(self) -> Crumb:
        """Return the thing itself, with its page."""
        return Crumb(name=self.name, url=url_of(self.noun, self.thing.pk))


def subject_of(noun: str, thing_id: int) -> Subject:
    """Return the thing of an address. Raises: Http404."""
    found = _READ[noun](thing_id) if noun in _READ else None
    if found is None:
        raise Http404("There is no such thing. It may have been removed; find it again.")
    return found


def _place(pk: int) -> Subject | None:
    found = Place.objects.filter(pk=pk).first()
    if found is None:
        return None
    return Subject(noun="place", thing=found, name=found.name, around=crumbs.around(found))


def _equipment(pk: int) -> Subject | None:
    found = Equipment.objects.select_related("place").filter(pk=pk).first()
    if found is None:
        return None
    around = crumbs.down_to(found.place)
    return Subject(noun="equipment", thing=found, name=found.name, around=around)


def _point(pk: int) -> Subject | None:
    read_with = ("equipment__place", "passage__cable__a_place", "passage__cable__b_place")
    found = Point.objects.select_related(*read_with).filter(pk=pk).first()
    if found is None:
        return None
    name = point_name(found).partition(" (")[0]
    return Subject(noun="point", thing=found, name=name, around=crumbs.of_point(found))


def _cable(pk: int) -> Subject | None:
    found = Cable.objects.select_related("a_place", "b_place").filter(pk=pk).first()
    if found is None:
        return None
    around = crumbs.down_to(found.a_place)
    return Subject(noun="cable", thing=found, name=found.name, around=around)


_READ = {"place": _place, "equipment": _equipment, "point": _point, "cable": _cable}
