"""What a gym's results have taught, as last worked out; before any, what is held anyway.

``held`` is what pages read: the last good snapshot, or the catalogue's figures where there
is none. Both have the same face, so nothing that reads one need care which it got, but say
so (``is_prior``).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from members.plain import Plain
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.estimation.estimate import prior
from scoring.core.estimation.extending import extended
from scoring.core.estimation.listing import ways_of
from scoring.core.estimation.ways import Ways
from scoring.mapping import course, credit_table
from scoring.models import CreditTableVersion, Workout
from scoring.snapshots import Held, Level, Snapshot, day_of, latest, levels_of, snapshot

__all__ = [
    "Held",
    "Level",
    "Snapshot",
    "day_of",
    "held",
    "latest",
    "levels_of",
    "snapshot",
    "table_key",
    "table_now",
    "table_of",
    "with_courses",
    "with_ways",
]

MOST_WORKOUTS = 500
"""So many of a gym's newest workouts say which ways it knows before any result."""


def table_now(*, gym_id: int) -> CreditTable:
    """The gym's credits of today."""
    return table_of(table_key(gym_id=gym_id))


def table_of(key: int | None) -> CreditTable:
    """Credits by their key, the usual ones for ``None``."""
    return CreditTable() if key is None else credit_table(key)


_NEWEST = Plain(
    CreditTableVersion, "of.gym_id = %s ORDER BY of.version DESC LIMIT 1", only=("version",)
)


def table_key(*, gym_id: int) -> int | None:
    """The key of the gym's credits of today, ``None`` where nobody has set any. Written out, as
    it is asked for every mark."""
    found = _NEWEST.rows([gym_id])
    return found[0].pk if found else None


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
