"""Laws of what is derived: history and the words things are found by."""

# ruff: noqa: D401 - a law is a statement

from collections.abc import Iterator

from records.models import KEPT, STILL, EquipmentKind, Noun, Place
from records.queries.engine import rows
from records.queries.words import normalised


def history_holds_what_stands() -> Iterator[str]:
    """The standing version of each kept row equals the row, and a row that is gone has none."""
    for model, twin in KEPT.items():
        table, key = model._meta.db_table, model._meta.pk.column
        compared = [
            field.column for field in model._meta.concrete_fields if field.name not in twin.ignored
        ]
        differs = " OR ".join(
            f'live."{column}" <> past."{column}" '
            f'OR (live."{column}" IS NULL) <> (past."{column}" IS NULL)'
            for column in compared
        )
        for thing, standing, was in rows(
            f"""SELECT live."{key}", past.row, past.row FROM {table} live
                LEFT JOIN {twin._meta.db_table} past
                  ON past."{key}" = live."{key}" AND past.until = {STILL}
                WHERE past.row IS NULL OR {differs}
                UNION ALL
                SELECT past."{key}", past.row, live."{key}" FROM {twin._meta.db_table} past
                LEFT JOIN {table} live ON live."{key}" = past."{key}"
                WHERE past.until = {STILL} AND live."{key}" IS NULL"""
        ):
            yield _unkept(model._meta.verbose_name, thing, standing, was)


def _unkept(noun: object, thing: int, standing: int | None, was: int | None) -> str:
    if standing is None:
        return f"The {noun} {thing} has no standing version in history."
    if was is None:
        return f"History says that {noun} {thing} still stands, but it is gone."
    return f"The {noun} {thing} differs from version {standing}, which should stand."


def versions_do_not_overlap() -> Iterator[str]:
    """At most one version of a row stands at a time, and each was written by a sealed change."""
    for model, twin in KEPT.items():
        noun, key = model._meta.verbose_name, model._meta.pk.column
        for thing, since, until, before in rows(
            f"""SELECT * FROM (
                    SELECT "{key}", since, until,
                           LAG(until) OVER (PARTITION BY "{key}" ORDER BY row) AS before
                    FROM {twin._meta.db_table}) version
                WHERE until < since OR before > since"""
        ):
            yield f"The {noun} {thing} has a version {since} to {until} after one to {before}."
        for (number,) in rows(
            f"""SELECT since FROM {twin._meta.db_table}
                UNION SELECT until FROM {twin._meta.db_table} WHERE until <> {STILL}
                EXCEPT SELECT number FROM records_change WHERE sealed"""
        ):
            yield f"A version of a {noun} was written by {number}, which is no sealed change."


def changes_are_sealed() -> Iterator[str]:
    """No change is left open."""
    for (number,) in rows("SELECT number FROM records_change WHERE NOT sealed"):
        yield f"Change {number} was never sealed."


def search_words_are_current() -> Iterator[str]:
    """A thing is found by its names and those of the places around it, unless it is retired."""
    stored = {(noun, thing): words for noun, thing, words in rows(_STORED_WORDS)}
    wanted = dict(_wanted_words())
    for noun, thing in sorted(stored.keys() | wanted.keys()):
        had, should = stored.get((noun, thing)), wanted.get((noun, thing))
        if had != should:
            yield f"The {noun} {thing} is found by '{had}' instead of '{should}'."


_STORED_WORDS = "SELECT noun, thing_id, words FROM records_searchtext"


def _wanted_words() -> Iterator[tuple[tuple[str, int], str]]:
    names: dict[str, str] = dict(rows("SELECT path, name FROM records_place"))
    known: dict[int, str] = {}
    for pk, path, retired in rows("SELECT id, path, retired FROM records_place"):
        around = (
            names.get(path[:end], "") for end in range(Place.steplen, len(path) + 1, Place.steplen)
        )
        known[pk] = normalised(" ".join(around))
        if not retired:
            yield (Noun.PLACE.value, pk), known[pk]
    for pk, place, kind, name, serial in rows(
        "SELECT id, place_id, kind, name, serial FROM records_equipment"
    ):
        own = normalised(f"{EquipmentKind(kind).label} {name} {serial}")
        yield (Noun.EQUIPMENT.value, pk), f"{known[place]} {own}"
    for pk, name, a_place, b_place in rows(
        "SELECT id, name, a_place_id, b_place_id FROM records_cable"
    ):
        yield (Noun.CABLE.value, pk), f"{normalised(name)} {known[a_place]} {known[b_place]}"
    for pk, identifier, outside_ref in rows(
        "SELECT id, identifier, outside_ref FROM records_line"
    ):
        yield (Noun.LINE.value, pk), normalised(f"{identifier} {outside_ref}")
