"""Snapshots of estimates, read: rows of the database as what the core takes."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property

import numpy as np

from members.models import Membership
from members.plain import Plain
from scoring.core.estimation.assumptions import MODEL_VERSION
from scoring.core.estimation.estimate import Estimate
from scoring.core.estimation.one_mark import OneByOne
from scoring.core.estimation.packing import unpacked
from scoring.core.estimation.ways import Ints
from scoring.models import EstimateSnapshot

logger = logging.getLogger(__name__)

Z_80 = 1.2815515655446004
"""Standard deviations either side that hold 80 % of a normal distribution."""

UNREADABLE = (ValueError, KeyError, TypeError)
"""What reading bytes of another version may raise."""

KEPT = 8
"""Snapshots kept read in a process: each may be some megabytes."""

KEPT_COURSES = 16
"""Courses that each of them keeps ready for single marks: with a new way in it a course may take
a megabyte as well."""


def read_keys(data: bytes | memoryview) -> Ints:
    """Primary keys by position, as a snapshot keeps them."""
    return np.frombuffer(bytes(data), dtype="<i8").astype(np.int64)


def _empty() -> Ints:
    return np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, eq=False)
class Held:
    """An estimate and whom and what its positions mean.

    ``until`` is the start of the last class counted, ``pk`` the snapshot's key, ``None`` where
    none was made; ``is_prior`` is true where no result has told anything yet. ``members``,
    ``classes`` and ``results`` are how many of each it learned from, ``blanked`` how many of its
    members were erased since.
    """

    gym_id: int
    estimate: Estimate
    pk: int | None = None
    made_at: datetime | None = None
    until: datetime | None = None
    members: int = 0
    classes: int = 0
    results: int = 0
    left_out: int = 0
    converged: bool = True
    convergence: str = ""
    blanked: int = 0
    member_keys: Ints = field(default_factory=_empty)
    class_keys: Ints = field(default_factory=_empty)
    result_keys: Ints = field(default_factory=_empty)

    @property
    def is_prior(self) -> bool:
        """Whether no result stands behind it: the catalogue and the credits alone."""
        return not self.results

    @cached_property
    def _ready(self) -> OrderedDict[Hashable, OneByOne]:
        return OrderedDict()

    def one_by_one(self, key: Hashable, make: Callable[[Estimate], OneByOne]) -> OneByOne:
        """What compares single marks of a course, by all that it hangs on beside the estimate;
        kept with the snapshot, and gone with it."""
        with _lock:
            found = self._ready.get(key)
            if found is not None:
                self._ready.move_to_end(key)
                return found
        found = make(self.estimate)
        with _lock:
            self._ready[key] = found
            while len(self._ready) > KEPT_COURSES:
                self._ready.popitem(last=False)
        return found

    @cached_property
    def _members(self) -> dict[int, int]:
        return _positions(self.member_keys)

    @cached_property
    def _classes(self) -> dict[int, int]:
        return _positions(self.class_keys)

    @cached_property
    def _results(self) -> tuple[Ints, Ints]:
        order = np.argsort(self.result_keys, kind="stable")
        return self.result_keys[order], order

    def member_at(self, membership_pk: int) -> int | None:
        """Position of a member, ``None`` for one without a result in it."""
        return self._members.get(membership_pk)

    def class_at(self, class_pk: int) -> int | None:
        """Position of a class, ``None`` for one that it doesn't count."""
        return self._classes.get(class_pk)

    def result_at(self, result_pk: int) -> int | None:
        """Position of a result, ``None`` for one that it doesn't count."""
        keys, order = self._results
        index = int(np.searchsorted(keys, result_pk))
        found = index < len(keys) and keys[index] == result_pk
        return int(order[index]) if found else None


Snapshot = Held
"""A ``Held`` that was read from a snapshot."""


def _positions(keys: Ints) -> dict[int, int]:
    return {key: position for position, key in enumerate(keys.tolist()) if key}


_read: OrderedDict[tuple[int, int], Snapshot] = OrderedDict()
_lock = threading.Lock()


def forget_read() -> None:
    """Forget what this process has read."""
    with _lock:
        _read.clear()


# Asked for every mark; the row itself may be some megabytes.
_KEYS = Plain(EstimateSnapshot, "of.model_version = %s AND ", only=("blanked",))


def latest(*, gym_id: int) -> Snapshot | None:
    """A gym's last snapshot, or ``None``."""
    return _newest("of.gym_id = %s ORDER BY of.id DESC LIMIT 1", gym_id)


def snapshot(*, pk: int) -> Snapshot | None:
    """A snapshot by its key, ``None`` where it is gone or another version's."""
    return _newest("of.id = %s", pk)


def _newest(where: str, of: int) -> Snapshot | None:
    """The first snapshot there, read once a process: they never change, but for somebody erased
    from them, which ``blanked`` counts."""
    keys = _KEYS.rows([MODEL_VERSION, of], more=where)
    if not keys:
        return None
    key = keys[0].pk, keys[0].blanked
    with _lock:
        if key in _read:
            _read.move_to_end(key)
            return _read[key]
    row = EstimateSnapshot.objects.filter(pk=key[0]).first()
    if row is None:
        return None
    try:
        found = of_row(row)
    except UNREADABLE:
        logger.error("estimate %s was written by another version; it is made anew", row.pk)
        return None
    with _lock:
        _read[row.pk, row.blanked] = found
        while len(_read) > KEPT:
            _read.popitem(last=False)
    return found


def of_row(row: EstimateSnapshot) -> Snapshot:
    """A snapshot's row, read."""
    return Held(
        gym_id=row.gym_id,
        estimate=unpacked(bytes(row.figures)),
        pk=row.pk,
        made_at=row.made_at,
        until=row.until,
        members=row.member_count,
        classes=row.class_count,
        results=row.result_count,
        left_out=row.left_out,
        converged=row.converged,
        convergence=row.convergence,
        blanked=row.blanked,
        member_keys=read_keys(row.members),
        class_keys=read_keys(row.classes),
        result_keys=read_keys(row.results),
    )


@dataclass(frozen=True, slots=True)
class Level:
    """A member's level on a day with results: 100 is the typical member, more is faster;
    ``low`` to ``high`` holds it with a chance of 80 %."""

    day: date
    results: int
    level: float
    low: float
    high: float


def levels_of(*, member: Membership) -> list[Level]:
    """A member's levels by the gym's last snapshot, the oldest first.

    Of their own, for themselves: whoever shows it to others asks ``access`` first.
    """
    found = latest(gym_id=member.gym_id)
    at = None if found is None else found.member_at(member.pk)
    if found is None or at is None:
        return []
    paths = found.estimate.levels
    mine = slice(int(paths.start[at]), int(paths.start[at + 1]))
    half = Z_80 * np.sqrt(paths.variance[mine])
    slow = paths.mean[mine]
    return [
        Level(day_of(day), int(results), *map(float, figures))
        for day, results, *figures in zip(
            paths.day[mine],
            paths.results[mine],
            100 * np.exp(-slow),
            100 * np.exp(-slow - half),
            100 * np.exp(half - slow),
            strict=True,
        )
    ]


def day_of(day: float) -> date:
    """The day that an estimate's days count, in the gym's own time zone."""
    return date.fromordinal(int(day))
