"""The triggers that write history, as statements for SQLite and PostgreSQL.

Three rules, held by the database itself:
- a kept table is written only while a change is open, and each version goes to its twin;
- a version in a twin is written by the triggers alone and never deleted or edited; only its end
  (`until`) is set, once;
- a sealed change is never deleted or edited.

None of them is got past by emptying a table at once (TRUNCATE) or by putting a row in the place of
another (REPLACE). On SQLite the last needs `PRAGMA recursive_triggers`, which the settings turn
on: without it a REPLACE in a kept table ends no version, which the laws of history find.
"""

from typing import Any, NamedTuple

from django.db import models

from records.models.kept import STILL

OPEN_CHANGE = "(SELECT number FROM records_change WHERE NOT sealed)"
NO_CHANGE = "no change is open: the plant is written only by the verbs of records.changes"
APPEND_ONLY = "history is append-only"


class _Table(NamedTuple):
    """A kept table and its twin: what the triggers are made from."""

    name: str
    key: list[str]
    columns: list[str]
    compared: list[str]
    personal: tuple[str, ...]

    @property
    def twin(self) -> str:
        return f"{self.name}_history"

    @property
    def same_row(self) -> str:
        return " AND ".join(f'"{column}" = OLD."{column}"' for column in self.key)

    @property
    def frozen(self) -> list[str]:
        own = [column for column in self.columns if column not in self.personal]
        return [*own, "row", "since"]


def history_sql(
    vendor: str,
    model: type[models.Model],
    *,
    ignored: tuple[str, ...] = (),
    personal: tuple[str, ...] = (),
) -> list[str]:
    """Return the statements that install the history triggers of a kept model.

    `ignored` columns alone make no version; `personal` ones may be blanked in the twin.
    """
    meta: Any = model._meta
    columns = [field.column for field in meta.concrete_fields if field.column != "since"]
    compared = [column for column in columns if column not in ignored]
    key = [field.column for field in meta.pk_fields]
    table = _Table(meta.db_table, key, columns, compared, personal)
    return _sqlite_history(table) if vendor == "sqlite" else _postgresql_history(table)


def drop_history_sql(vendor: str, model: type[models.Model]) -> list[str]:
    """Return the statements that take the triggers of a kept model away again."""
    table = model._meta.db_table
    if vendor == "sqlite":
        names = [f"{table}_kept_{event}" for event in ("insert", "update", "delete")]
        columns = (field.column for field in model._meta.concrete_fields)  # of personal ones
        guards = ("insert", "delete", "edit", "end", *columns)
        names += [f"{table}_history_{guard}" for guard in guards]
        return [f"DROP TRIGGER IF EXISTS {name}" for name in names]
    return [
        f"DROP FUNCTION IF EXISTS {name}() CASCADE"
        for name in (f"{table}_kept", f"{table}_history_guard")
    ]


def _sqlite_history(table: _Table) -> list[str]:
    name, twin = table.name, table.twin
    differs = " OR ".join(f'OLD."{column}" IS NOT NEW."{column}"' for column in table.compared)
    guard = f"SELECT RAISE(ABORT, '{NO_CHANGE}') WHERE {OPEN_CHANGE} IS NULL;"
    refuse = f"SELECT RAISE(ABORT, '{APPEND_ONLY}');"
    end = f"""UPDATE {twin} SET until = {OPEN_CHANGE}
        WHERE {table.same_row} AND until = {STILL};"""
    begin = f"""INSERT INTO {twin} ({_listed(table.columns)}, since, until)
        VALUES ({_listed(table.columns, "NEW.")}, {OPEN_CHANGE}, {STILL});"""
    return [
        f"CREATE TRIGGER {name}_kept_insert AFTER INSERT ON {name} BEGIN {guard} {begin} END",
        f"""CREATE TRIGGER {name}_kept_update AFTER UPDATE ON {name} WHEN {differs}
        BEGIN {guard} {end} {begin} END""",
        f"CREATE TRIGGER {name}_kept_delete AFTER DELETE ON {name} BEGIN {guard} {end} END",
        # The number of a row that is yet to get one is -1 here, so only a REPLACE finds its own.
        f"""CREATE TRIGGER {twin}_insert BEFORE INSERT ON {twin}
        WHEN NEW.since IS NOT {OPEN_CHANGE} OR NEW.until <> {STILL}
          OR EXISTS (SELECT 1 FROM {twin} WHERE row = NEW.row) BEGIN {refuse} END""",
        f"CREATE TRIGGER {twin}_delete BEFORE DELETE ON {twin} BEGIN {refuse} END",
        f"""CREATE TRIGGER {twin}_edit BEFORE UPDATE OF {_listed(table.frozen)} ON {twin}
        BEGIN {refuse} END""",
        f"""CREATE TRIGGER {twin}_end BEFORE UPDATE OF until ON {twin}
        WHEN OLD.until <> {STILL} OR NEW.until IS NOT {OPEN_CHANGE} BEGIN {refuse} END""",
        *(
            f"""CREATE TRIGGER {twin}_{column} BEFORE UPDATE OF {column} ON {twin}
            WHEN NEW.{column} <> '' BEGIN {refuse} END"""
            for column in table.personal
        ),
    ]


def _postgresql_history(table: _Table) -> list[str]:
    name, twin = table.name, table.twin
    old, new = _listed(table.compared, "OLD."), _listed(table.compared, "NEW.")
    frozen_old, frozen_new = _listed(table.frozen, "OLD."), _listed(table.frozen, "NEW.")
    ends = f"OLD.until = {STILL} AND NEW.until = {OPEN_CHANGE}"
    cuts = " AND ".join(f"""NEW."{each}" = ''""" for each in table.personal)
    allowed = f"({ends})" + (f" OR (OLD.until = NEW.until AND {cuts})" if cuts else "")
    return [
        f"""CREATE FUNCTION {name}_kept() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE current_change bigint := {OPEN_CHANGE};
BEGIN
  IF current_change IS NULL THEN RAISE EXCEPTION '{NO_CHANGE}'; END IF;
  IF TG_OP = 'UPDATE' THEN
    IF ({old}) IS NOT DISTINCT FROM ({new}) THEN RETURN NULL; END IF;
  END IF;
  IF TG_OP <> 'INSERT' THEN
    UPDATE {twin} SET until = current_change WHERE {table.same_row} AND until = {STILL};
  END IF;
  IF TG_OP <> 'DELETE' THEN
    INSERT INTO {twin} ({_listed(table.columns)}, since, until)
    VALUES ({_listed(table.columns, "NEW.")}, current_change, {STILL});
  END IF;
  RETURN NULL;
END $$""",
        f"""CREATE TRIGGER {name}_kept AFTER INSERT OR UPDATE OR DELETE ON {name}
FOR EACH ROW EXECUTE FUNCTION {name}_kept()""",
        f"""CREATE FUNCTION {twin}_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF TG_OP = 'UPDATE' THEN
    IF ({frozen_old}) IS NOT DISTINCT FROM ({frozen_new})
      AND ({allowed}) THEN RETURN NEW; END IF;
  END IF;
  RAISE EXCEPTION '{APPEND_ONLY}: % of %', TG_OP, TG_TABLE_NAME;
END $$""",
        f"""CREATE TRIGGER {twin}_guard BEFORE UPDATE OR DELETE ON {twin}
FOR EACH ROW EXECUTE FUNCTION {twin}_guard()""",
        # The triggers' own inserts are one level down; asking so costs them nothing to speak of.
        f"""CREATE TRIGGER {twin}_insert BEFORE INSERT ON {twin}
FOR EACH ROW WHEN (pg_trigger_depth() = 0) EXECUTE FUNCTION {twin}_guard()""",
        *(
            f"""CREATE TRIGGER {emptied}_truncate BEFORE TRUNCATE ON {emptied}
FOR EACH STATEMENT EXECUTE FUNCTION {twin}_guard()"""
            for emptied in (name, twin)
        ),
    ]


def sealed_changes_sql(vendor: str) -> list[str]:
    """Return the statements that make sealed changes immutable."""
    refused = "a sealed change is never edited or deleted"
    if vendor == "sqlite":
        return [
            f"""CREATE TRIGGER records_change_{event.lower()} BEFORE {event} ON records_change
            WHEN {condition} BEGIN SELECT RAISE(ABORT, '{refused}'); END"""
            for event, condition in (
                ("UPDATE", "OLD.sealed"),
                ("DELETE", "OLD.sealed"),
                ("INSERT", _REPLACES_A_SEALED_ONE),
            )
        ]
    return [
        f"""CREATE FUNCTION records_change_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION '{refused}'; END $$""",
        """CREATE TRIGGER records_change_guard BEFORE UPDATE OR DELETE ON records_change
FOR EACH ROW WHEN (OLD.sealed) EXECUTE FUNCTION records_change_guard()""",
        """CREATE TRIGGER records_change_truncate BEFORE TRUNCATE ON records_change
FOR EACH STATEMENT EXECUTE FUNCTION records_change_guard()""",
    ]


_REPLACES_A_SEALED_ONE = (
    "EXISTS (SELECT 1 FROM records_change WHERE number = NEW.number AND sealed)"
)


def drop_sealed_changes_sql(vendor: str) -> list[str]:
    """Return the statements that make sealed changes editable again."""
    if vendor == "sqlite":
        events = ("update", "delete", "insert")
        return [f"DROP TRIGGER IF EXISTS records_change_{event}" for event in events]
    return ["DROP FUNCTION IF EXISTS records_change_guard() CASCADE"]


def _listed(columns: list[str], prefix: str = "") -> str:
    return ", ".join(f'{prefix}"{column}"' for column in columns)
