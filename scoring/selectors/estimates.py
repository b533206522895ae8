"""What a gym's results have taught, as last worked out; before any, what is held anyway.

``held`` is what pages read: the last good snapshot, or the catalogue's figures where there
is none. Both have the same face, so nothing that reads one need care which it got, but say
so (``is_prior``).
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property

import numpy as np
from django.db.models import QuerySet

from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.estimation.assumptions import MODEL_VERSION
from scoring.core.estimation.estimate import Estimate, prior
from scoring.core.estimation.extending import extended
from scoring.core.estimation.listing import ways_of
from scoring.core.estimation.packing import unpacked
from scoring.core.estimation.ways import Ints, Ways
from scoring.mapping import course
from scoring.models import CreditTableVersion, EstimateSnapshot, Workout

KEPT = 8
"""Snapshots kept read in a process: each may be some megabytes."""

MOST_WORKOUTS = 500
"""So many of a gym's newest workouts say which ways it knows before any result."""


def read_keys(data: bytes | memoryview) -> Ints:
    """Primary keys by position, as a snapshot keeps them."""
    return np.frombuffer(bytes(data), dtype="<i8").astype(np.int64)


def _empty() -> Ints:
    return np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, eq=False)
class Held:
    """An estimate and whom and what its positions mean.

    ``until`` is the start of the last class counted, ``pk`` the snapshot's key; both are
    ``None`` with ``is_prior``, where no result has told anything yet. ``members``, ``classes``
    and ``results`` are how many of each it learned from.
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
    member_keys: Ints = field(default_factory=_empty)
    class_keys: Ints = field(default_factory=_empty)
    result_keys: Ints = field(default_factory=_empty)

    @property
    def is_prior(self) -> bool:
        """Whether no result stands behind it: the catalogue and the credits alone."""
        return self.pk is None

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


def latest(*, gym_id: int) -> Snapshot | None:
    """A gym's last snapshot, or ``None``."""
    return _newest(EstimateSnapshot.objects.filter(gym=gym_id).order_by("-pk"))


def snapshot(*, pk: int) -> Snapshot | None:
    """A snapshot by its key, ``None`` where it is gone or another version's."""
    return _newest(EstimateSnapshot.objects.filter(pk=pk))


def _newest(rows: QuerySet[EstimateSnapshot]) -> Snapshot | None:
    """The first of some snapshots, read once a process: they never change, but for somebody
    erased from them, which ``blanked`` counts."""
    rows = rows.filter(model_version=MODEL_VERSION)
    key = rows.values_list("pk", "blanked").first()
    if key is None:
        return None
    with _lock:
        if key in _read:
            _read.move_to_end(key)
            return _read[key]
    row = rows.filter(pk=key[0]).first()
    if row is None:
        return None
    found = of_row(row)
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
        member_keys=read_keys(row.members),
        class_keys=read_keys(row.classes),
        result_keys=read_keys(row.results),
    )


def table_now(*, gym_id: int) -> CreditTable:
    """The gym's credits of today."""
    newest = CreditTableVersion.objects.filter(gym=gym_id).order_by("-version").first()
    return CreditTable() if newest is None else CreditTable.from_dict(newest.rules)


def held(*, gym_id: int) -> Held:
    """The gym's last snapshot; without one, what the catalogue and its credits say."""
    found = latest(gym_id=gym_id)
    if found is not None:
        return found
    texts = Workout.objects.filter(gym=gym_id).order_by("-pk").values_list("text", flat=True)
    courses = [course(text, True) for text in texts[:MOST_WORKOUTS]]
    return Held(gym_id, prior(ways_of(reversed(courses), table_now(gym_id=gym_id))))


def with_ways(snapshot: Held, ways: Ways) -> Held:
    """The same with ways that it hasn't seen, each as the catalogue or its credit has it."""
    estimate = extended(snapshot.estimate, ways)
    return snapshot if estimate is snapshot.estimate else replace(snapshot, estimate=estimate)


def with_courses(snapshot: Held, courses: Iterable[Course]) -> Held:
    """The same with every way that some courses prescribe or offer, as for a draft."""
    table = table_now(gym_id=snapshot.gym_id)
    return with_ways(snapshot, ways_of(courses, table, snapshot.estimate.ways))
