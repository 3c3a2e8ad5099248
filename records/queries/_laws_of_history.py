"""Laws of what is derived: history and the words things are found by."""

# ruff: noqa: D401 - a law is a statement

from collections.abc import Iterator
from typing import Any, NamedTuple

from django.db.models import Model

from records.models import KEPT, STILL, EquipmentKind, Noun, Place
from records.queries import chain
from records.queries.engine import rows
from records.queries.words import normalised


def history_holds_what_stands() -> Iterator[str]:
    """The standing version of each kept row equals the row, and a row that is gone has none."""
    for table in map(_Table.of, KEPT):
        for *thing, version, is_live in rows(
            f"""SELECT {_each(table.key, "live.")}, past.row, 1 FROM {table.name} live
                LEFT JOIN {table.twin} past ON {table.same_row} AND past.until = {STILL}
                WHERE past.row IS NULL OR {table.differs}
                UNION ALL
                SELECT {_each(table.key, "past.")}, past.row, 0 FROM {table.twin} past
                LEFT JOIN {table.name} live ON {table.same_row}
                WHERE past.until = {STILL} AND live.{table.key[0]} IS NULL"""
        ):
            name = f"{table.noun} {' '.join(map(str, thing))}"
            if version is None:
                yield f"The {name} has no standing version in history."
            elif is_live:
                yield f"The {name} differs from its standing version, row {version}."
            else:
                yield f"The {name} is gone, but its version in row {version} still stands."


def versions_do_not_overlap() -> Iterator[str]:
    """At most one version of a row stands at a time, and each was written by a sealed change."""
    for table in map(_Table.of, KEPT):
        key = _each(table.key)
        for *thing, since, until, before in rows(
            f"""SELECT * FROM (
                    SELECT {key}, since, until,
                           LAG(until) OVER (PARTITION BY {key} ORDER BY row) AS before
                    FROM {table.twin}) version
                WHERE until < since OR before > since"""
        ):
            name = f"{table.noun} {' '.join(map(str, thing))}"
            yield f"The {name} has a version {since} to {until} after one to {before}."
        for (number,) in rows(
            f"""SELECT since FROM {table.twin}
                UNION SELECT until FROM {table.twin} WHERE until <> {STILL}
                EXCEPT SELECT number FROM records_change WHERE sealed"""
        ):
            yield f"A version of a {table.noun} was written by {number}, no sealed change."


class _Table(NamedTuple):
    """A kept table, its twin, and what of a row goes into a version."""

    noun: str
    name: str
    twin: str
    key: list[str]
    columns: list[str]

    @classmethod
    def of(cls, model: type[Model]) -> "_Table":
        live: Any = model._meta
        past: Any = KEPT[model]._meta
        kept = {field.column for field in past.concrete_fields} - {"row", "since", "until"}
        return cls(
            noun=str(live.verbose_name),
            name=live.db_table,
            twin=past.db_table,
            key=[field.column for field in live.pk_fields],
            columns=sorted(kept - set(KEPT[model].ignored)),
        )

    @property
    def same_row(self) -> str:
        return " AND ".join(f'past."{column}" = live."{column}"' for column in self.key)

    @property
    def differs(self) -> str:
        """Return the condition that a row and a version differ; NULL differs from a value."""
        return " OR ".join(
            f'live."{column}" <> past."{column}" '
            f'OR (live."{column}" IS NULL) <> (past."{column}" IS NULL)'
            for column in self.columns
        )


def _each(columns: list[str], prefix: str = "") -> str:
    return ", ".join(f"{prefix}{column}" for column in columns)


def changes_are_sealed() -> Iterator[str]:
    """No change is left open."""
    for (number,) in rows("SELECT number FROM records_change WHERE NOT sealed"):
        yield f"Change {number} was never sealed."


def changes_are_as_sealed() -> Iterator[str]:
    """Every change, with each version that it began or ended, is as it was sealed."""
    found = chain.first_break()
    if found is not None:
        yield f"The chain first breaks at change {found.number}. {found.words}"


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
