"""The database itself: up to date, sound, and nothing that refers to nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from . import sql
from .finding import CannotVerify, Finding, Looked
from .scope import Scope

BACKUP = "bring it back from a backup; until then write nothing to it"
_NOT_VALID = """
SELECT conrelid::regclass::text, conname FROM pg_constraint
WHERE NOT convalidated AND connamespace = current_schema()::regnamespace
UNION ALL
SELECT t.tgrelid::regclass::text, t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
WHERE t.tgenabled = 'D' AND t.tgisinternal AND c.relnamespace = current_schema()::regnamespace"""


def demand_migrated() -> None:
    """Raises ``CannotVerify`` where the tables are not those of this program."""
    executor = MigrationExecutor(connection)
    missing = [step for step, _ in executor.migration_plan(executor.loader.graph.leaf_nodes())]
    if missing:
        names = ", ".join(f"{step.app_label}.{step.name}" for step in missing[:5])
        raise CannotVerify(
            f"{len(missing)} migrations have not been run ({names}{' …' * (len(missing) > 5)}): "
            "run manage.py migrate first."
        )


def storage(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """What the database says of its own files and constraints."""
    if not scope.is_whole:
        return
    if connection.vendor == "sqlite":
        for (told,) in sql.pragma("integrity_check"):
            if told != "ok":
                yield Finding("database-damaged", "the SQLite file", str(told), BACKUP)
        looked.counts["integrity checks"] += 1
        return
    for table, name in sql.rows(_NOT_VALID):
        yield Finding(
            "constraint-off",
            f"{name} of {table}",
            "it is not enforced, or was never checked on the rows that are there",
            f"ALTER TABLE {table} VALIDATE CONSTRAINT, or ENABLE TRIGGER; mend the rows first",
        )


def references(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """Every reference leads to a row."""
    if not scope.is_whole:
        return
    if connection.vendor == "sqlite":
        for table, row, target, _ in sql.pragma("foreign_key_check"):
            yield _orphan(str(table), row, str(target))
    for field in _references():
        looked.counts["kinds of references"] += 1
        if connection.vendor != "sqlite":
            yield from _orphans(field)


def _orphan(table: str, row: object, target: str) -> Finding:
    return Finding(
        "reference-to-nothing", f"row {row} of {table}", f"it refers to a row of {target} that "
        "is not there", "bring the missing row back from a backup",
    )  # fmt: skip


def _references() -> Iterator[Any]:
    for model in apps.get_models(include_auto_created=True):
        if model._meta.managed and not model._meta.proxy:
            yield from (field for field in model._meta.local_concrete_fields if field.is_relation)


def _orphans(field: Any) -> Iterator[Finding]:
    child, parent = field.model._meta, field.target_field.model._meta
    own, there = sql.quoted(field.column), sql.quoted(field.target_field.column)
    found = sql.rows(
        f"SELECT c.{sql.quoted(child.pk.column)} FROM {sql.quoted(child.db_table)} c "  # noqa: S608
        f"LEFT JOIN {sql.quoted(parent.db_table)} p ON p.{there} = c.{own} "
        f"WHERE c.{own} IS NOT NULL AND p.{there} IS NULL"
    )
    for (pk,) in found:
        yield _orphan(child.db_table, pk, parent.db_table)
