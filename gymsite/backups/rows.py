"""Rows as plain values, the same on every kind of database.

What takes a gym from one kind to another, and what compares two databases, goes by these and
not by the databases' own types: times in UTC, decimals as text, bytes in base 64.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from decimal import Decimal
from graphlib import TopologicalSorter
from itertools import islice
from typing import Any

from django.apps.registry import Apps
from django.core.management.color import no_style
from django.db import connections, models

BATCH = 1_000
Model = type[models.Model]


def tables(apps: Apps) -> list[Model]:
    """Every model that has a table of its own: what others must refer to comes first, else
    by the table's name."""
    found = {
        model._meta.db_table: model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy and not model._meta.swapped
    }
    needs = {
        name: {
            field.related_model._meta.db_table
            for field in model._meta.concrete_fields
            if field.is_relation and not field.null and field.related_model is not None
            and not isinstance(field.related_model, str)
        }
        - {name}
        for name, model in sorted(found.items())
    }  # fmt: skip
    return [found[name] for name in TopologicalSorter(needs).static_order() if name in found]


def columns(model: Model) -> list[str]:
    """Names of a model's values, in the order in which rows hold them."""
    return [field.attname for field in model._meta.concrete_fields]


def read(model: Model, using: str = "default") -> Iterator[tuple[Any, ...]]:
    """All rows of a table as Python values, by primary key."""
    rows = model._base_manager.using(using).order_by("pk").values_list(*columns(model))
    return rows.iterator(chunk_size=BATCH)


def write(model: Model, rows: Iterable[Sequence[Any]], using: str = "default") -> int:
    """Add rows with the keys they have, past everything that a model does on saving.

    Answers how many. References that may be null can come before what they refer to: they
    are looked at when the transaction ends.
    """
    connection = connections[using]
    fields = model._meta.concrete_fields
    quote = connection.ops.quote_name
    names = ", ".join(quote(str(field.column)) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    statement = f"INSERT INTO {quote(model._meta.db_table)} ({names}) VALUES ({places})"  # noqa: S608
    count, left = 0, iter(rows)
    with connection.cursor() as cursor:
        while batch := list(islice(left, BATCH)):
            cursor.executemany(
                statement,
                [
                    [
                        field.get_db_prep_save(value, connection)
                        for field, value in zip(fields, row, strict=True)
                    ]
                    for row in batch
                ],
            )
            count += len(batch)
    return count


@contextmanager
def without_triggers(models_: Sequence[Model], using: str = "default") -> Iterator[None]:
    """Let no trigger of ours do again what rows already hold the outcome of.

    Within one transaction, which others see the end of only.
    """
    connection = connections[using]
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            made = cursor.fetchall()
            for name, _ in made:
                cursor.execute(f"DROP TRIGGER {quote(name)}")
            yield
            for _, statement in made:
                cursor.execute(statement)
            return
        names = [quote(model._meta.db_table) for model in models_]
        # A table whose references are still to be looked at can't be changed.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for name in names:
            cursor.execute(f"ALTER TABLE {name} DISABLE TRIGGER USER")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        yield
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for name in names:
            cursor.execute(f"ALTER TABLE {name} ENABLE TRIGGER USER")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")


def count_on(models_: Sequence[Model], using: str = "default") -> None:
    """Let new rows get keys that come after those which are there."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models_)):
            cursor.execute(statement)


def plain(value: Any) -> Any:
    """A value as JSON can hold it."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, (date, time)):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, (bytes, bytearray, memoryview)):
        return base64.b64encode(bytes(value)).decode()
    return value


def unplain(field: models.Field[Any, Any], value: Any) -> Any:
    """What ``plain`` made of a field's value, back."""
    if value is None or isinstance(field, models.JSONField):
        return value
    if isinstance(field, models.BinaryField):
        return base64.b64decode(value)
    return field.to_python(value)


def digest(model: Model, using: str = "default") -> tuple[int, str]:
    """How many rows a table has, and a SHA-256 over all their values."""
    count, summed = 0, hashlib.sha256()
    for row in read(model, using):
        told = json.dumps([plain(value) for value in row], sort_keys=True, ensure_ascii=False)
        summed.update(told.encode() + b"\n")
        count += 1
    return count, summed.hexdigest()
