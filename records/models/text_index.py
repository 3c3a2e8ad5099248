"""The text index over the words of `SearchText` versions: FTS5 on SQLite, GIN on PostgreSQL.

It lies over the history twin, so that one index finds what stands and what stood.
"""

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState

TEXT_INDEX = "records_searchtext_words"
"""The FTS5 table on SQLite and the index on PostgreSQL."""
PREFIX = 3
"""The longest beginning of a word, in letters, that SQLite's index knows by itself."""

_TABLE = "records_searchtext_history"
_LEARN = f"INSERT INTO {TEXT_INDEX}(rowid, words) VALUES (NEW.row, NEW.words);"

_FORWARDS = {
    "sqlite": (
        # detail=none: words are matched in any order, never as phrases, and take a tenth the room.
        (
            f"CREATE VIRTUAL TABLE {TEXT_INDEX} USING fts5(words, content='{_TABLE}', "
            "content_rowid='row', detail=none, prefix='1 2 3')"
        ),
        f"CREATE TRIGGER {TEXT_INDEX}_insert AFTER INSERT ON {_TABLE} BEGIN {_LEARN} END",
    ),
    "postgresql": (
        f"CREATE INDEX {TEXT_INDEX} ON {_TABLE} USING gin (to_tsvector('simple', words))",
    ),
}
_BACKWARDS = {
    "sqlite": (
        f"DROP TRIGGER {TEXT_INDEX}_insert",
        f"DROP TABLE {TEXT_INDEX}",
    ),
    "postgresql": (f"DROP INDEX {TEXT_INDEX}",),
}


class IndexText(Operation):
    """Create the engine's own text index."""

    reduces_to_sql = False
    reversible = True

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Leave the state alone: the index is not part of it."""

    def database_forwards(
        self,
        app_label: str,  # noqa: ARG002 (Django's signature)
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002
        to_state: ProjectState,  # noqa: ARG002
    ) -> None:
        """Create the index."""
        for statement in _FORWARDS[schema_editor.connection.vendor]:
            schema_editor.execute(statement, params=None)

    def database_backwards(
        self,
        app_label: str,  # noqa: ARG002 (Django's signature)
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002
        to_state: ProjectState,  # noqa: ARG002
    ) -> None:
        """Drop the index."""
        for statement in _BACKWARDS[schema_editor.connection.vendor]:
            schema_editor.execute(statement, params=None)

    def describe(self) -> str:
        """Return one line for the migration's log."""
        return "Index the words of things for finding"


class ForgetWords(IndexText):
    """Let words that are blanked in history leave the text index too."""

    def database_forwards(
        self,
        app_label: str,  # noqa: ARG002 (Django's signature)
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002
        to_state: ProjectState,  # noqa: ARG002
    ) -> None:
        """Follow updates; PostgreSQL's index does so by itself."""
        if schema_editor.connection.vendor == "sqlite":
            schema_editor.execute(
                f"""CREATE TRIGGER {TEXT_INDEX}_update AFTER UPDATE OF words ON {_TABLE}
                BEGIN
                    INSERT INTO {TEXT_INDEX}({TEXT_INDEX}, rowid, words)
                    VALUES ('delete', OLD.row, OLD.words);
                    {_LEARN}
                END""",
                params=None,
            )

    def database_backwards(
        self,
        app_label: str,  # noqa: ARG002 (Django's signature)
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002
        to_state: ProjectState,  # noqa: ARG002
    ) -> None:
        """Take the trigger away."""
        if schema_editor.connection.vendor == "sqlite":
            schema_editor.execute(f"DROP TRIGGER {TEXT_INDEX}_update", params=None)

    def describe(self) -> str:
        """Return one line for the migration's log."""
        return "Let blanked words leave the text index"
