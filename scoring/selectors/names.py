"""Ordering by name in SQL as Python does it: whatever the case, whatever the alphabet."""

from __future__ import annotations

from sqlite3 import Connection
from typing import Any

from django.db import connection
from django.db.models import CharField, Func

_FUNCTION = "name_key"
_UNICODE = '(LOWER((%(expressions)s) COLLATE "und-x-icu") COLLATE "C")'


class NameKey(Func):
    """A name in lower case, compared letter by letter.

    SQLite's own ``LOWER`` knows ASCII only, and PostgreSQL's goes by the server's language;
    so SQLite asks Python, and PostgreSQL its Unicode collation.
    """

    arity = 1
    function = _FUNCTION
    output_field = CharField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        """Lower case by Unicode, order by code point."""
        return self.as_sql(compiler, connection, template=_UNICODE, **context)


def name_key(column: str) -> str:
    """The same in a statement that is written out."""
    if connection.vendor == "postgresql":
        return _UNICODE % {"expressions": column}
    return f"{_FUNCTION}({column})"


class ByLetters(Func):
    """A name as it is written, compared by code point in every database, as Python does."""

    arity = 1
    template = "(%(expressions)s)"
    output_field = CharField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        return self.as_sql(compiler, connection, template='((%(expressions)s) COLLATE "C")')


def teach_sqlite(connection: Any, **kwargs: Any) -> None:
    """Give a new SQLite connection the function."""
    if connection.vendor == "sqlite":
        raw: Connection = connection.connection
        raw.create_function(_FUNCTION, 1, _casefold, deterministic=True)


def _casefold(name: str | None) -> str | None:
    return None if name is None else name.casefold()
