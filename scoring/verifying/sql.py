"""Plain SQL for what the ORM can't ask, read row by row. The only statements here that are
not ``SELECT`` or a ``PRAGMA`` that reads begin and end a transaction that can't write."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction

CHUNK = 1000


def rows(statement: str, params: Sequence[int | str] = ()) -> Iterator[tuple[Any, ...]]:
    """The rows of a ``SELECT``, never all in memory."""
    with connection.chunked_cursor() as cursor:
        cursor.execute(statement, params)
        while chunk := cursor.fetchmany(CHUNK):
            yield from chunk


def pragma(name: str) -> Iterator[tuple[Any, ...]]:
    """The rows that a ``PRAGMA`` of SQLite tells."""
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {name}")
        while chunk := cursor.fetchmany(CHUNK):
            yield from chunk


def quoted(name: str) -> str:
    return connection.ops.quote_name(name)


@contextmanager
def one_moment() -> Iterator[None]:
    """All that is read is of one moment, whatever is written meanwhile, and nothing is written.

    The site goes on beside it: on SQLite the transaction takes no lock to write (Django's own
    would), on PostgreSQL it is a snapshot. Inside a caller's transaction it is theirs.
    """
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA query_only = ON")
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
                cursor.execute("PRAGMA query_only = OFF")
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
