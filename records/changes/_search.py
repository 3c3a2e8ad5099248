"""Keep the words by which things are found."""

from collections.abc import Iterable

from records.models import Cable, Equipment, Line, Noun, Place, SearchText
from records.queries.names import addresses
from records.queries.words import normalised


def index_places(places: Iterable[Place]) -> None:
    """Index places, by their own names and those around them."""
    listed = list(places)
    known = addresses(listed)
    _store(Noun.PLACE, {each.pk: known[each.pk] for each in listed})


def index_equipment(equipment: Iterable[Equipment]) -> None:
    """Index equipment, by name, kind, serial and place."""
    listed = list(equipment)
    known = addresses({each.place for each in listed})
    _store(
        Noun.EQUIPMENT,
        {
            each.pk: f"{known[each.place_id]} {each.get_kind_display()} {each.name} {each.serial}"
            for each in listed
        },
    )


def index_cables(cables: Iterable[Cable]) -> None:
    """Index cables, by name and the places they join."""
    listed = list(cables)
    known = addresses({place for each in listed for place in (each.a_place, each.b_place)})
    _store(
        Noun.CABLE,
        {
            each.pk: f"{each.name} {known[each.a_place_id]} {known[each.b_place_id]}"
            for each in listed
        },
    )


def index_lines(lines: Iterable[Line]) -> None:
    """Index lines, by identifier and outside reference."""
    _store(Noun.LINE, {each.pk: f"{each.identifier} {each.outside_ref}" for each in lines})


def forget(noun: Noun, thing_id: int) -> None:
    """Take a removed thing out of the index."""
    SearchText.objects.filter(noun=noun, thing_id=thing_id).delete()


def index_below(place: Place) -> None:
    """Index anew all that carries a place's name: its places, equipment and cables."""
    inside = Place.objects.filter(path__startswith=place.path)
    index_places(inside.filter(retired=False))
    index_equipment(Equipment.objects.filter(place__in=inside).select_related("place"))
    ends = Cable.objects.select_related("a_place", "b_place")
    index_cables(ends.filter(a_place__in=inside) | ends.filter(b_place__in=inside))


def _store(noun: Noun, words: dict[int, str]) -> None:
    SearchText.objects.bulk_create(
        [SearchText(noun=noun, thing_id=pk, words=normalised(text)) for pk, text in words.items()],
        update_conflicts=True,
        unique_fields=["noun", "thing_id"],
        update_fields=["words"],
    )
