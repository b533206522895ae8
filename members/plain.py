"""Rows by a statement written out, for what every request asks before it does anything.

Django puts a query together anew each time, which takes several times as long as the database
takes to answer one by a key. Here the statement and what turns columns into values are made
once a process.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any, Generic, TypeVar

from django.db import connection, models
from django.db.backends.utils import CursorWrapper

M = TypeVar("M", bound=models.Model)


class Plain(Generic[M]):
    """Rows of ``model`` by ``where``, a text with marks for values, each with the row that its
    foreign key ``joined`` leads to.

    Tables are called ``of`` and ``its``. Values are given as the database takes them.
    """

    def __init__(self, model: type[M], where: str, *, joined: str = "") -> None:
        self._model, self._where, self._joined = model, where, joined

    @property
    def _key(self) -> models.ForeignKey[Any, Any]:
        key = self._model._meta.get_field(self._joined)
        assert isinstance(key, models.ForeignKey)
        return key

    @cached_property
    def _its(self) -> type[models.Model] | None:
        if not self._joined:
            return None
        return self._key.related_model

    @cached_property
    def _statement(self) -> str:
        named: list[tuple[type[models.Model], str]] = [(self._model, "of")]
        if self._its:
            named.append((self._its, "its"))
        columns = ", ".join(
            f'{alias}."{field.column}"' for model, alias in named for field in _fields(model)
        )
        text = f"SELECT {columns} FROM {self._model._meta.db_table} of"  # noqa: S608
        if self._its:
            text += f" JOIN {self._its._meta.db_table} its ON its.id = of.{self._key.column}"
        return f"{text} WHERE {self._where}"

    @cached_property
    def _converters(self) -> dict[int, Any]:
        columns = [field.get_col("of") for field in _fields(self._model)]
        columns += [field.get_col("its") for field in (_fields(self._its) if self._its else ())]
        compiler = self._model._default_manager.all().query.get_compiler(connection=connection)
        found: dict[int, Any] = compiler.get_converters(columns)
        return found

    def rows(self, values: Sequence[Any]) -> list[M]:
        """The rows that the statement finds."""
        cursor: CursorWrapper
        with connection.cursor() as cursor:
            cursor.execute(self._statement, values)
            found = cursor.fetchall()
        if not found:
            return []
        if self._converters:
            compiler = self._model._default_manager.all().query.get_compiler(connection=connection)
            found = list(compiler.apply_converters(found, self._converters))
        fields = [field.attname for field in _fields(self._model)]
        made = []
        for row in found:
            one = self._model.from_db(connection.alias, fields, row[: len(fields)])
            if self._its:
                others = [field.attname for field in _fields(self._its)]
                other = self._its.from_db(connection.alias, others, row[len(fields) :])
                setattr(one, self._joined, other)
            made.append(one)
        return made


def _fields(model: type[models.Model]) -> Sequence[models.Field[Any, Any]]:
    return model._meta.concrete_fields


def moment(value: Any) -> Any:
    """A time as the database takes it."""
    return connection.ops.adapt_datetimefield_value(value)
