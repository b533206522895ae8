"""What is counted while the service works, for Prometheus.

No label ever names a gym, a class or a person: there would be too many series, and whoever
watches the machines has no business to know.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, Protocol, TypeVar

from django.db import transaction
from prometheus_client import Counter, Histogram

from .problems import Refused

P = ParamSpec("P")
R = TypeVar("R")

# page: a member by the form; program: a member by the API; coach: for somebody else;
# import: from a chat or a file.
WAYS = ("page", "program", "coach", "import")
# fresh: built for this reader; kept: built for somebody before; not modified: a 304.
OUTCOMES = ("fresh", "kept", "not modified")

_LOGGED = Counter("classboard_results_logged", "Results logged or corrected.", ["way"])
_REPLAYED = Counter(
    "classboard_results_replayed", "Results that were sent again and changed nothing.", ["way"]
)
_REFUSED = Counter("classboard_results_refused", "Results that were refused.", ["kind"])
_READS = Counter("classboard_board_reads", "Boards that were asked for.", ["outcome"])
_AGE = Histogram(
    "classboard_board_age_seconds",
    "How old the state of a board was when it was shown.",
    buckets=(0.05, 0.1, 0.25, 0.5, 0.75, 1, 1.5, 2, 3, 5, 10, 30),
)
_MESSAGES = Counter("classboard_messages", "Messages of the outbox, by how it ended.", ["outcome"])

# A series that has never been counted is no series, and no alert sees its first step.
for _way in WAYS:
    _LOGGED.labels(_way)
    _REPLAYED.labels(_way)
for _kind in ("invalid", "conflict", "closed", "forbidden"):
    _REFUSED.labels(_kind)
for _outcome in OUTCOMES:
    _READS.labels(_outcome)
for _outcome in ("sent", "failed", "dropped", "put back"):
    _MESSAGES.labels(_outcome)


class Sent(Protocol):
    """What a service answers of a result that came in."""

    @property
    def replayed(self) -> bool: ...


def result_sent(way: str, sent: Sent) -> None:
    """Count a result that came in, once it is committed."""
    counter = _REPLAYED if sent.replayed else _LOGGED
    transaction.on_commit(counter.labels(way).inc, robust=True)


def result_corrected() -> None:
    """Count a correction by a coach, once it is committed."""
    transaction.on_commit(_LOGGED.labels("coach").inc, robust=True)


def results_imported(number: int) -> None:
    """Count results of an import, once they are committed."""
    if number:
        transaction.on_commit(lambda: _LOGGED.labels("import").inc(number), robust=True)


def refused(refusal: Refused) -> None:
    """Count a refusal of a result, once, however many layers tell of it."""
    if not refusal.is_counted:
        refusal.is_counted = True
        _REFUSED.labels(refusal.kind).inc()


def counts_refusals(service: Callable[P, R]) -> Callable[P, R]:
    """Count what a service refuses."""

    @wraps(service)
    def counted(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return service(*args, **kwargs)
        except Refused as refusal:
            refused(refusal)
            raise

    return counted


def board_read(outcome: str, age: float | None = None) -> None:
    """Count a board that was asked for; ``age`` in seconds, ``None`` where none was shown."""
    _READS.labels(outcome).inc()
    if age is not None:
        _AGE.observe(max(0.0, age))


def message_ended(outcome: str) -> None:
    """Count how the sending of a message ended."""
    _MESSAGES.labels(outcome).inc()
