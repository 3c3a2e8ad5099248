"""Migration operations that install the triggers of history, and take them away going back.

Changing a kept model's columns means another `KeepHistory` operation after the column operation;
a test compares the triggers in the database with what the models ask for.
"""

from collections.abc import Iterator
from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState

from records.models.kept import KEPT
from records.models.triggers import (
    drop_history_sql,
    drop_sealed_changes_sql,
    history_sql,
    sealed_changes_sql,
)


class _TriggerOperation(Operation):
    """A migration operation that runs statements made for the engine at hand."""

    reduces_to_sql = False
    reversible = True

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Leave the state alone: triggers are not part of it."""


class KeepHistory(_TriggerOperation):
    """Install the history triggers of a model, replacing those it has.

    One that `renews` leaves them in place going back: the model was kept before.
    """

    def __init__(
        self,
        name: str,
        ignored: tuple[str, ...] = (),
        personal: tuple[str, ...] = (),
        *,
        renews: bool = False,
    ) -> None:
        """Name the kept model, its bookkeeping columns and its personal ones."""
        self.name = name
        self.ignored = ignored
        self.personal = personal
        self.renews = renews

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002 (Django's signature)
        to_state: ProjectState,
    ) -> None:
        """Install the triggers."""
        model: Any = to_state.apps.get_model(app_label, self.name)
        vendor = schema_editor.connection.vendor
        installed = history_sql(vendor, model, ignored=self.ignored, personal=self.personal)
        _run(schema_editor, *drop_history_sql(vendor, model), *installed)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,  # noqa: ARG002 (Django's signature)
    ) -> None:
        """Take the triggers away."""
        if not self.renews:
            model: Any = from_state.apps.get_model(app_label, self.name)
            _run(schema_editor, *drop_history_sql(schema_editor.connection.vendor, model))

    def describe(self) -> str:
        """Return one line for the migration's log."""
        return f"Keep the history of {self.name} by triggers"


class SealChanges(_TriggerOperation):
    """Make sealed changes immutable."""

    def database_forwards(
        self,
        app_label: str,  # noqa: ARG002 (Django's signature)
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002
        to_state: ProjectState,  # noqa: ARG002
    ) -> None:
        """Install the triggers."""
        _run(schema_editor, *sealed_changes_sql(schema_editor.connection.vendor))

    def database_backwards(
        self,
        app_label: str,  # noqa: ARG002 (Django's signature)
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002
        to_state: ProjectState,  # noqa: ARG002
    ) -> None:
        """Take the triggers away."""
        _run(schema_editor, *drop_sealed_changes_sql(schema_editor.connection.vendor))

    def describe(self) -> str:
        """Return one line for the migration's log."""
        return "Make sealed changes immutable"


class RenewTriggers(_TriggerOperation):
    """Install all triggers anew, as they are made now. Going back leaves them: they still fit."""

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002 (Django's signature)
        to_state: ProjectState,
    ) -> None:
        """Take them away and bring them back."""
        _take_away(schema_editor, to_state, app_label)
        _bring_back(schema_editor, to_state, app_label)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        """Leave them."""

    def describe(self) -> str:
        """Return one line for the migration's log."""
        return "Install the triggers of history anew"


class GoBackWithout(_TriggerOperation):
    """Going back, take all triggers away, or with `ends` bring them back.

    The operations between the two alter `records_change` itself. SQLite does that by making the
    table anew, and lets no trigger name a table that is not there meanwhile.
    """

    def __init__(self, *, ends: bool = False) -> None:
        """Tell whether it ends the stretch without triggers, as seen going back."""
        self.ends = ends

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        """Do nothing: columns are added beside the triggers."""

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,  # noqa: ARG002 (Django's signature)
        to_state: ProjectState,
    ) -> None:
        """Take them away, or bring them back."""
        change = _bring_back if self.ends else _take_away
        change(schema_editor, to_state, app_label)

    def describe(self) -> str:
        """Return one line for the migration's log."""
        return "Let the change's table be made anew going back"


def _take_away(
    schema_editor: BaseDatabaseSchemaEditor, state: ProjectState, app_label: str
) -> None:
    vendor = schema_editor.connection.vendor
    for model, _options in _kept_in(state, app_label):
        _run(schema_editor, *drop_history_sql(vendor, model))
    _run(schema_editor, *drop_sealed_changes_sql(vendor))


def _bring_back(
    schema_editor: BaseDatabaseSchemaEditor, state: ProjectState, app_label: str
) -> None:
    vendor = schema_editor.connection.vendor
    for model, options in _kept_in(state, app_label):
        _run(schema_editor, *history_sql(vendor, model, **options))
    _run(schema_editor, *sealed_changes_sql(vendor))


def _kept_in(state: ProjectState, app_label: str) -> Iterator[tuple[Any, dict[str, Any]]]:
    """Return the kept models that there are in a state, and what their triggers take."""
    for model, twin in KEPT.items():
        name = str(model._meta.model_name)
        if (app_label, f"{name}history") in state.models:
            yield (
                state.apps.get_model(app_label, name),
                {"ignored": twin.ignored, "personal": twin.personal},
            )


def _run(schema_editor: BaseDatabaseSchemaEditor, *statements: str) -> None:
    for statement in statements:
        schema_editor.execute(statement, params=None)
