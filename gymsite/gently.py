"""Migrations that hold nobody up: on PostgreSQL indexes and checks come without a long lock.

SQLite has one writer at a time and no such words, so there they are the usual ones. Each
needs ``atomic = False`` on its migration and stands there alone: if it dies half-way it can be
run again.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import models, transaction
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations import AddConstraint, AddIndex, RemoveIndex
from django.db.migrations.state import ProjectState

LOCK_SECONDS = 5
"""Whoever waits for a lock keeps all who come later waiting, so it gives up and is run again."""

BATCH = 2_000


def _is_postgresql(editor: BaseDatabaseSchemaEditor) -> bool:
    return editor.connection.vendor == "postgresql"


def _exists(editor: BaseDatabaseSchemaEditor, table: str, name: str) -> bool:
    with editor.connection.cursor() as cursor:
        return name in editor.connection.introspection.get_constraints(cursor, table)


def _drop_index(editor: BaseDatabaseSchemaEditor, name: str) -> None:
    editor.execute(f"DROP INDEX CONCURRENTLY IF EXISTS {editor.quote_name(name)}")


class AddIndexGently(AddIndex):
    """``AddIndex``, with ``CONCURRENTLY`` on PostgreSQL.

    One that died leaves an index behind that is not valid; it is dropped and made again.
    """

    atomic = False

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        if not _is_postgresql(schema_editor):
            super().database_forwards(app_label, schema_editor, from_state, to_state)
            return
        model = to_state.apps.get_model(app_label, self.model_name)
        if self.allow_migrate_model(schema_editor.connection.alias, model):
            _drop_index(schema_editor, self.index.name)
            schema_editor.add_index(model, self.index, concurrently=True)  # type: ignore[call-arg]

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        if not _is_postgresql(schema_editor):
            super().database_backwards(app_label, schema_editor, from_state, to_state)
            return
        _drop_index(schema_editor, self.index.name)


class RemoveIndexGently(RemoveIndex):
    """``RemoveIndex``, with ``CONCURRENTLY`` on PostgreSQL."""

    atomic = False

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        if not _is_postgresql(schema_editor):
            super().database_forwards(app_label, schema_editor, from_state, to_state)
            return
        _drop_index(schema_editor, self.name)


class AddCheckGently(AddConstraint):
    """``AddConstraint`` of a check: from now on it holds for what is written, then the rows
    that are there are looked at while others write on."""

    atomic = False

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        if not _is_postgresql(schema_editor):
            # The table is made anew: whole, or nothing is left of it.
            with transaction.atomic(schema_editor.connection.alias):
                super().database_forwards(app_label, schema_editor, from_state, to_state)
            return
        model = to_state.apps.get_model(app_label, self.model_name)
        name, table = self.constraint.name, model._meta.db_table
        quote = schema_editor.quote_name
        statement = self.constraint.create_sql(model, schema_editor)
        if not _exists(schema_editor, table, name):
            schema_editor.execute(f"SET lock_timeout = '{LOCK_SECONDS}s'")
            schema_editor.execute(f"{statement} NOT VALID", params=None)
            schema_editor.execute("RESET lock_timeout")
        schema_editor.execute(f"ALTER TABLE {quote(table)} VALIDATE CONSTRAINT {quote(name)}")


def in_batches(rows: models.QuerySet[Any], change: Callable[[models.QuerySet[Any]], object]) -> int:
    """Change rows some thousand at a time, by primary key; how many there were.

    For ``RunPython`` in a migration with ``atomic = False``: each batch is committed by itself,
    so nobody waits long, and what died half-way can be run again if ``rows`` leaves out what
    is done already.
    """
    count, last = 0, None
    while True:
        left = rows.order_by("pk") if last is None else rows.order_by("pk").filter(pk__gt=last)
        keys = list(left.values_list("pk", flat=True)[:BATCH])
        if not keys:
            return count
        change(rows.order_by().filter(pk__in=keys))
        count, last = count + len(keys), keys[-1]
