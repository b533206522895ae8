"""Rows by a statement written out, for what every request asks before it does anything, and
for what is read and written when everybody logs at once.

Django puts a query together anew each time, which takes several times as long as the database
takes to answer one by a key. Here the statement and what turns columns into values are made
once a process.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cache, cached_property
from typing import Any, Generic, NamedTuple, TypeVar

from django.db import connection, models
from django.db.backends.utils import CursorWrapper

M = TypeVar("M", bound=models.Model)

MOST = models.BigIntegerField.MAX_BIGINT
"""No key is greater; a database may refuse to look for one."""


class _Part(NamedTuple):
    """A table of a statement: its name there, the fields read of it, and of which other part
    (by position) it is which attribute."""

    alias: str
    model: type[models.Model]
    fields: tuple[models.Field[Any, Any], ...]
    key: models.ForeignKey[Any, Any] | None
    of: int


class Plain(Generic[M]):
    """Rows of ``model``, each with the rows that the foreign keys ``joined`` lead to.

    A key of a row that is itself joined is written ``result__member``, after ``result``. Tables
    are called ``of`` and by those names. ``only`` takes the fields to read as
    ``QuerySet.only`` does; the others are read by Django when they are asked for.
    """

    def __init__(
        self,
        model: type[M],
        where: str,
        *,
        joined: Sequence[str] = (),
        only: Collection[str] = (),
    ) -> None:
        self._model, self._where = model, where
        self._joined, self._only = tuple(joined), frozenset(only)

    @cached_property
    def _parts(self) -> list[_Part]:
        parts = [_Part("of", self._model, self._fields_of(self._model, ""), None, 0)]
        at = {"": 0}
        for path in self._joined:
            before, _, name = path.rpartition("__")
            key = parts[at[before]].model._meta.get_field(name)
            assert isinstance(key, models.ForeignKey)
            model = key.related_model
            at[path] = len(parts)
            parts.append(_Part(path, model, self._fields_of(model, f"{path}__"), key, at[before]))
        return parts

    def _fields_of(
        self, model: type[models.Model], prefix: str
    ) -> tuple[models.Field[Any, Any], ...]:
        return tuple(
            field
            for field in _fields(model)
            if not self._only
            or field.primary_key
            or self._only & {prefix + field.name, prefix + field.attname}
        )

    @cached_property
    def _statement(self) -> tuple[str, str]:
        """What stands before and behind the expressions that are told beside the columns."""
        columns = ", ".join(
            f'{part.alias}."{field.column}"' for part in self._parts for field in part.fields
        )
        tables = f"{self._model._meta.db_table} of"
        for part in self._parts[1:]:
            assert part.key is not None
            tables += (
                f" JOIN {part.model._meta.db_table} {part.alias} "
                f"ON {part.alias}.id = {self._parts[part.of].alias}.{part.key.column}"
            )
        return f"SELECT {columns}", f" FROM {tables} WHERE {self._where}"

    @cached_property
    def _converters(self) -> dict[int, Any]:
        columns = [field.get_col(part.alias) for part in self._parts for field in part.fields]
        compiler = self._model._default_manager.all().query.get_compiler(connection=connection)
        found: dict[int, Any] = compiler.get_converters(columns)
        return found

    def rows(self, values: Sequence[Any], *, more: str = "", **told: str) -> list[M]:
        """The rows that the statement finds.

        ``values`` are given as the database takes them. ``more`` goes on with the condition.
        ``told`` are expressions of SQL; each is an attribute of its row.
        """
        if any(isinstance(value, int) and abs(value) > MOST for value in values):
            return []
        head, tail = self._statement
        beside = "".join(f", {expression}" for expression in told.values())
        cursor: CursorWrapper
        with connection.cursor() as cursor:
            cursor.execute(f"{head}{beside}{tail}{more}", values)
            found = cursor.fetchall()
        if not found:
            return []
        if self._converters:
            compiler = self._model._default_manager.all().query.get_compiler(connection=connection)
            found = list(compiler.apply_converters(found, self._converters))
        return [self._made(row, tuple(told)) for row in found]

    def _made(self, row: Sequence[Any], told: tuple[str, ...]) -> M:
        made: list[Any] = []
        at = 0
        for part in self._parts:
            end = at + len(part.fields)
            names = [field.attname for field in part.fields]
            one = part.model.from_db(connection.alias, names, row[at:end])
            if part.key is not None:
                setattr(made[part.of], part.key.name, one)
            made.append(one)
            at = end
        for name, value in zip(told, row[at:], strict=True):
            setattr(made[0], name, value)
        first: M = made[0]
        return first


@cache
def _insertion(model: type[models.Model]) -> tuple[str, tuple[models.Field[Any, Any], ...]]:
    key = model._meta.pk
    assert isinstance(key, models.AutoField)
    fields = tuple(field for field in _fields(model) if not field.primary_key)
    names = ", ".join(f'"{field.column}"' for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    return (
        f"INSERT INTO {model._meta.db_table} ({names}) VALUES ({marks}) "  # noqa: S608
        f'RETURNING "{key.column}"',
        fields,
    )


def insert(row: M) -> M:
    """Write a new row, which is told its key.

    What ``save`` does for a model whose key the database gives, but for signals: nothing may
    be connected to those of such a model.
    """
    statement, fields = _insertion(type(row))
    values = [field.get_db_prep_save(field.pre_save(row, True), connection) for field in fields]
    cursor: CursorWrapper
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        row.pk = cursor.fetchone()[0]
    row._state.adding, row._state.db = False, connection.alias
    return row


def _fields(model: type[models.Model]) -> Sequence[models.Field[Any, Any]]:
    return model._meta.concrete_fields


def moment(value: Any) -> Any:
    """A time as the database takes it."""
    return connection.ops.adapt_datetimefield_value(value)
