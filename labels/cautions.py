"""Cautions for places where there can be light, with what an assessor stated of them."""

from collections.abc import Iterator

from django.db.models import Exists, OuterRef, QuerySet

from labels.item import Item
from labels.neutral_names import PLATED
from labels.owner import caution_words, rules, sign
from labels.walking import walks
from records.models import Equipment, Place
from records.queries.hazards import statements_for
from records.queries.names import addresses

_AFTER_ALL = 9


def caution_items(places: "QuerySet[Place]") -> Iterator[Item]:
    """Yield a caution for each place with a plate in which equipment stands.

    The level is what an assessor stated, with its day, or left out: it is never computed.
    """
    holding = Equipment.objects.filter(place=OuterRef("pk"))
    found = list(places.filter(Exists(holding), kind__in=PLATED))
    if not found:
        return
    said, words = statements_for(found), caution_words(rules(), sign())
    where, walk = addresses(found), walks(found)
    for place in found:
        statement = said.get(place.pk)
        fields = {
            "pictogram": words.pictogram,
            "signal": words.signal,
            "words": words.words,
            "level": "",
            "assessed_on": "",
        }
        if statement is not None:
            fields["level"] = f"{words.level} {statement.level}"
            fields["assessed_on"] = statement.stated_date.isoformat()
        yield Item(
            what="caution",
            kind="caution",
            noun="place",
            thing_id=place.pk,
            name=f"caution at {place.get_kind_display()} {place.name}",
            where=where[place.pk],
            place_id=place.pk,
            fields=fields,
            walk=(walk[place.pk], _AFTER_ALL),
        )
