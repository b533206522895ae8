"""All checks, one after the other, on one moment of the data."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from datetime import datetime

from django.utils import timezone
from redis.exceptions import RedisError

from .audit import audit
from .belonging import belonging, submissions
from .boards import board_orders, demand_store, kept_boards, told_ranks
from .erased import erased
from .facts import facts
from .finding import CannotVerify, Finding, Looked
from .scope import Scope
from .scores import scores
from .sql import one_moment
from .storage import demand_migrated, references, storage
from .unfinished import unfinished

Check = Callable[[Scope, Looked], Iterator[Finding]]

CHECKS: tuple[Check, ...] = (
    storage,
    references,
    belonging,
    facts,
    scores,
    submissions,
    board_orders,
    told_ranks,
    kept_boards,
    audit,
    erased,
    unfinished,
)


def findings(
    *,
    class_ids: Collection[int] | None = None,
    looked: Looked | None = None,
    now: datetime | None = None,
) -> Iterator[Finding]:
    """What is wrong with the data, as it is found. Writes nothing, keeps nothing in memory.

    Parameters
    ----------
    class_ids
        Look only at what hangs on these classes; checks of the whole database are left out.
    looked
        Is told how much was looked at.
    now
        Another time than the clock's.

    Raises
    ------
    CannotVerify
        The database is not up to date, or the board store can't be reached.
    """
    scope = Scope(class_ids, timezone.now() if now is None else now)
    looked = Looked() if looked is None else looked
    demand_migrated()
    demand_store()
    try:
        with one_moment():
            for check in CHECKS:
                yield from check(scope, looked)
    except RedisError as error:
        raise CannotVerify(f"Redis stopped answering ({type(error).__name__}).") from error
