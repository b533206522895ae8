"""Outages: errors that say that something the site needs is away, and not that it is wrong.

The database restarts, Redis is gone, the disk is full: nobody's fault but for a while, and
whoever asked should hear that, and what became of what they sent.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.db import InterfaceError, OperationalError
from kombu.exceptions import OperationalError as BrokerError
from redis.exceptions import RedisError

RETRY_AFTER = 5
"""Seconds: a database that restarts is back in about as many."""


@dataclass(frozen=True, slots=True)
class Outage:
    """What is answered: the status, the words, and after how many seconds to ask again
    (``None``: not by itself)."""

    status: int
    title: str
    said: str
    retry_after: int | None = None


AWAY = Outage(
    503,
    "The site can't get at its data for a moment",
    "Nothing that was saved before is lost. Wait a few seconds, then try again. If you had just "
    "sent something, look first whether it is there; a result sent again from the same page, or "
    "under the same Idempotency-Key, counts once.",
    RETRY_AFTER,
)
# 507: RFC 4918, section 11.5.
FULL = Outage(
    507,
    "The site has no room to save anything",
    "Its disk is full or can't be written to. What you just sent was not saved; what was saved "
    "before is there and can be read. Tell whoever runs the site, and send it again when there "
    "is room.",
)

# SQLSTATE classes and codes (PostgreSQL, Appendix A): the connection, a deadlock or clash of
# transactions, too many connections or no memory, a lock not got, the server going or coming.
_PG_AWAY = ("08", "40", "53", "55P03", "57P", "58")
_PG_FULL = "53100"
_SQLITE_AWAY = ("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_CANTOPEN", "SQLITE_PROTOCOL")
# A file system that takes no more answers a write with ENOSPC, or with EFBIG or EDQUOT, which
# SQLite calls an error of writing, of growing the log's index, or of syncing.
_SQLITE_FULL = (
    "SQLITE_FULL",
    "SQLITE_READONLY",
    "SQLITE_IOERR_WRITE",
    "SQLITE_IOERR_SHMSIZE",
    "SQLITE_IOERR_TRUNCATE",
    "SQLITE_IOERR_FSYNC",
    "SQLITE_IOERR_DIR_FSYNC",
)


def outage_of(error: BaseException | None) -> Outage | None:
    """The outage that an error tells of, ``None`` for one that is a mistake of ours."""
    for one in _with_causes(error):
        if isinstance(one, (RedisError, BrokerError)):
            return AWAY
        if isinstance(one, (OperationalError, InterfaceError)):
            return _of_database(one)
    return None


def _of_database(error: Exception) -> Outage | None:
    cause = error.__cause__
    name = getattr(cause, "sqlite_errorname", None)
    if name is not None:  # an extended name, such as SQLITE_BUSY_SNAPSHOT, begins like its kind
        if name.startswith(_SQLITE_FULL):
            return FULL
        return AWAY if name.startswith(_SQLITE_AWAY) else None
    state = getattr(cause, "sqlstate", None)
    if state is not None:
        if state == _PG_FULL:
            return FULL
        return AWAY if state.startswith(_PG_AWAY) else None
    # No code at all: psycopg had no server to get one from, or the pool no connection.
    return AWAY if type(cause).__module__.startswith("psycopg") else None


def _with_causes(error: BaseException | None) -> Iterator[BaseException]:
    """An error and what it was raised from, the latest first."""
    while error is not None:
        yield error
        error = error.__cause__
