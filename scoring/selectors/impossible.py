"""Which marks of a class the estimate finds all but impossible, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import isfinite
from zoneinfo import ZoneInfo

import numpy as np
from django.db import connection

from scoring.core.course import Course
from scoring.core.credits import parse_choices
from scoring.core.estimation.assumptions import IMPOSSIBLE
from scoring.core.estimation.estimate import Estimate
from scoring.core.estimation.gather import Gathered, gather
from scoring.core.estimation.gather import Held as ClassHeld
from scoring.core.estimation.impossible import Surprise, marks_of, surprises
from scoring.core.estimation.impossible_words import (
    Anybody,
    expected_marks,
    expected_reps,
    unlike,
)
from scoring.core.estimation.listing import ways_of
from scoring.core.estimation.one_mark import widths
from scoring.core.estimation.ways import Ints
from scoring.core.marks import IntervalReps, parse_mark
from scoring.core.prescription import BlockKind
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import parse_splits
from scoring.mapping import course, course_of
from scoring.models import Score, StreamedClass

from .estimates import Held, latest, table_now, with_ways

KEPT = 32
"""Classes whose marks a process keeps compared."""


@dataclass(frozen=True, slots=True)
class Judged:
    """Reasons by fact, for what is all but impossible for anybody (``fast``) and for its
    member (``unlike``). ``known`` are the facts whose members the estimate knows: of them
    nothing else need be asked that is about their usual pace. ``last_fact`` is the newest
    compared, 0 for none; ``common`` is what they say of one more, as ``Surprise`` has it."""

    fast: dict[int, str] = field(default_factory=dict)
    unlike: dict[int, str] = field(default_factory=dict)
    known: frozenset[int] = frozenset()
    last_fact: int = 0
    common: tuple[float, float] | None = None


def judged(streamed_class: StreamedClass) -> Judged:
    """Compare the marks of a class with what was to be expected of them; nothing where no
    estimate has been worked out."""
    return judged_by(streamed_class, latest(gym_id=streamed_class.gym_id))


def judged_by(streamed_class: StreamedClass, held: Held | None) -> Judged:
    """The same by a snapshot that was read just now."""
    if held is None or held.is_prior:
        return Judged()
    build = _judged.__wrapped__ if connection.in_atomic_block else _judged
    return build(streamed_class.pk, streamed_class.board_version, held)


def forget() -> None:
    """Forget the classes that this process keeps."""
    _judged.cache_clear()


@lru_cache(maxsize=KEPT)
def _judged(class_id: int, version: int, held: Held) -> Judged:
    streamed = StreamedClass.objects.select_related("workout", "gym").get(pk=class_id)
    if is_untimed(course_of(streamed)):
        return Judged()
    return _Comparing(streamed, held).judged()


def is_untimed(course: Course) -> bool:
    """Whether nothing can be asked about marks of a course, as no clock runs."""
    return not course.blocks or course.workout_block(1).kind is BlockKind.MAX_LOAD


@lru_cache(maxsize=20_000)
def read_fact(text: str, weighted: bool, mark: str, options: str, splits: str) -> CoreResult:
    """A fact's result; it hangs on these texts alone, and many members write the same ones."""
    on = course(text, weighted)
    return CoreResult(parse_mark(on, mark), parse_choices(on, options), parse_splits(on, splits))


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """Marks of one class beside what was to be expected: of each at ``which`` of those gathered,
    ``members`` being where the estimate has their members, -1 for one it doesn't know."""

    held: Held
    gathered: Gathered
    members: Ints
    which: Ints
    surprise: Surprise

    @property
    def estimate(self) -> Estimate:
        return self.held.estimate


def compared(
    streamed: StreamedClass, on: Course, held: Held, told: Sequence[tuple[int, int, CoreResult]]
) -> Compared:
    """Compare some marks of a class, given as key, member and result, by a snapshot alone."""
    day, table = day_in(streamed), table_now(gym_id=held.gym_id)
    gathered = gather([ClassHeld(streamed.pk, on, day, told)], table)
    # The course first, so that its ways are tied to what the estimate knows of them.
    held = with_ways(held, ways_of([on], table, held.estimate.ways))
    held = with_ways(held, gathered.ways)
    found = [held.member_at(int(key)) for key in gathered.members]
    members = np.array([-1 if at is None else at for at in found], dtype=np.int64)
    marks, which = marks_of(held.estimate, gathered, members, day, widths(on))
    effect, variance = common_of(streamed, held)
    surprise = surprises(held.estimate, marks, effect=effect, effect_variance=variance)
    return Compared(held, gathered, members, which, surprise)


def day_in(streamed: StreamedClass) -> float:
    """The day of a class in its gym, as the estimate counts days."""
    zone = ZoneInfo(streamed.gym.timezone)
    return float(streamed.starts_at.astimezone(zone).date().toordinal())


def common_of(streamed: StreamedClass, held: Held) -> tuple[float, float | None]:
    """What the estimate knows to be common to a class, and its variance."""
    at = held.class_at(streamed.pk)
    if at is None:
        return 0.0, None
    return float(held.estimate.effect[at]), float(held.estimate.effect_variance[at])


def fitted(held: Held, score: Score) -> float | None:
    """How many deviations a mark is from what was expected as the fit has it; ``None`` where it
    wasn't in it."""
    at, made = held.result_at(score.result_id), held.made_at
    if at is None or made is None or score.fact.created_at > made:
        return None
    return float(held.estimate.expected[at])


@dataclass(frozen=True, slots=True)
class Beside:
    """One mark beside what was to be expected: ``z`` deviations of ``spread`` from ``slowness``,
    in log time. ``member`` is where the estimate has its member, -1 for one it doesn't know."""

    member: int
    z: float
    slowness: float
    spread: float

    @classmethod
    def of(cls, surprise: Surprise, at: int, member: int, fitted: float | None) -> Beside:
        """A mark of those compared, as the fit has it where it was in it."""
        z = float(surprise.z[at]) if fitted is None else fitted
        spread = float(surprise.spread[at])
        slowness = float(surprise.slowness[at] + surprise.excess[at]) - z * spread
        return cls(member, z, slowness, spread)

    @property
    def is_odd(self) -> bool:
        return isfinite(self.z) and abs(self.z) > IMPOSSIBLE


def why_unlike(
    held: Held, estimate: Estimate, course: Course, result: CoreResult, mark: Beside
) -> str:
    """Why a mark is all but impossible for its member. ``estimate`` is the snapshot's, with the
    ways of the mark in it."""
    levels, until, own = estimate.levels, held.until, 0
    if mark.member >= 0:
        of_theirs = slice(levels.start[mark.member], levels.start[mark.member + 1])
        own = int(levels.results[of_theirs].sum())
    excess = mark.z * mark.spread
    if isinstance(result.mark, IntervalReps):
        expected: tuple[str, str] | None = expected_reps(
            estimate, sum(result.mark.reps), excess, mark.spread
        )
    else:
        expected = expected_marks(estimate, course, result.choices, mark.slowness, mark.spread)
    return unlike(
        excess,
        results=own,
        gym_results=held.results,
        until=f"{until.day} {until:%b %Y}" if until else "",
        expected=expected,
    )


class _Comparing:
    """A class's marks beside what was to be expected of each."""

    def __init__(self, streamed: StreamedClass, held: Held) -> None:
        self.course = course_of(streamed)
        rows = Score.objects.filter(streamed_class=streamed).select_related("fact", "result")
        self.scores = {score.result_id: score for score in rows.order_by("pk")}
        text, weighted = streamed.workout.text, streamed.weighted
        self.results = {
            pk: read_fact(text, weighted, score.fact.mark, score.fact.options, score.fact.splits)
            for pk, score in self.scores.items()
        }
        told = [
            (pk, self.scores[pk].result.member_id, result) for pk, result in self.results.items()
        ]
        found = compared(streamed, self.course, held, told)
        self.held, self.estimate, self.gathered = found.held, found.estimate, found.gathered
        self.members, self.which, self.surprise = found.members, found.which, found.surprise

    def judged(self) -> Judged:
        anybody = Anybody(self.estimate, self.course)
        alike = {id(result): result for result in self.results.values()}
        reasons = {key: anybody.too_fast(result) for key, result in alike.items()}
        fast = {
            self.scores[pk].fact_id: reasons[id(result)]
            for pk, result in self.results.items()
            if reasons[id(result)]
        }
        unlikes: dict[int, str] = {}
        known: set[int] = set()
        for index, position in enumerate(self.which.tolist()):
            score = self.scores[int(self.gathered.results[position])]
            member = int(self.members[self.gathered.rows.member[position]])
            mark = Beside.of(self.surprise, index, member, fitted(self.held, score))
            if not isfinite(mark.z):
                continue
            if member >= 0:
                known.add(score.fact_id)
            if mark.is_odd:
                result = self.results[score.result_id]
                unlikes[score.fact_id] = why_unlike(
                    self.held, self.estimate, self.course, result, mark
                )
        last = max((score.fact_id for score in self.scores.values()), default=0)
        return Judged(fast, unlikes, frozenset(known), last, self.surprise.common)
