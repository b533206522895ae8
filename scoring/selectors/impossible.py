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
from scoring.core.credits import Choice, parse_choices
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
from scoring.core.estimation.naming import units, way_of
from scoring.core.estimation.ways import Ints, Way
from scoring.core.marks import IntervalReps, parse_mark
from scoring.core.prescription import BlockKind
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import parse_splits
from scoring.mapping import course, course_of
from scoring.models import Score, StreamedClass

from .estimates import Held, latest, table_now, with_courses, with_ways

KEPT = 32
"""Classes whose marks a process keeps compared."""


@dataclass(frozen=True, slots=True)
class Judged:
    """Reasons by fact, for what is all but impossible for anybody (``fast``) and for its
    member (``unlike``). ``known`` are the facts whose members the estimate knows: of them
    nothing else need be asked that is about their usual pace."""

    fast: dict[int, str] = field(default_factory=dict)
    unlike: dict[int, str] = field(default_factory=dict)
    known: frozenset[int] = frozenset()


def judged(streamed_class: StreamedClass) -> Judged:
    """Compare the marks of a class with what was to be expected of them; nothing where no
    estimate has been worked out."""
    held = latest(gym_id=streamed_class.gym_id)
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
    if course_of(streamed).workout_block(1).kind is BlockKind.MAX_LOAD:
        return Judged()  # no clock runs
    return _Comparing(streamed, held).judged()


@lru_cache(maxsize=20_000)
def _read(text: str, weighted: bool, mark: str, options: str, splits: str) -> CoreResult:
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
    zone = ZoneInfo(streamed.gym.timezone)
    day = float(streamed.starts_at.astimezone(zone).date().toordinal())
    gathered = gather([ClassHeld(streamed.pk, on, day, told)], table_now(gym_id=held.gym_id))
    # The course first, so that its ways are tied to what the estimate knows of them.
    held = with_ways(with_courses(held, [on]), gathered.ways)
    estimate = held.estimate
    found = [held.member_at(int(key)) for key in gathered.members]
    members = np.array([-1 if at is None else at for at in found], dtype=np.int64)
    marks, which = marks_of(estimate, gathered, members, day, _widths(on))
    at = held.class_at(streamed.pk)
    if at is None:
        surprise = surprises(estimate, marks)
    else:
        surprise = surprises(
            estimate,
            marks,
            effect=float(estimate.effect[at]),
            effect_variance=float(estimate.effect_variance[at]),
        )
    return Compared(held, gathered, members, which, surprise)


class _Comparing:
    """A class's marks beside what was to be expected of each."""

    def __init__(self, streamed: StreamedClass, held: Held) -> None:
        self.course = course_of(streamed)
        rows = Score.objects.filter(streamed_class=streamed).select_related("fact", "result")
        self.scores = {score.result_id: score for score in rows.order_by("pk")}
        text, weighted = streamed.workout.text, streamed.weighted
        self.results = {
            pk: _read(text, weighted, score.fact.mark, score.fact.options, score.fact.splits)
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
            z = self._z(score, index)
            if not isfinite(z):
                continue
            if member >= 0:
                known.add(score.fact_id)
            if abs(z) > IMPOSSIBLE:
                unlikes[score.fact_id] = self._reason(score, member, index, z)
        return Judged(fast, unlikes, frozenset(known))

    def _z(self, score: Score, index: int) -> float:
        """How far a mark is from what was expected: as the fit has it where it was in it."""
        at = self.held.result_at(score.result_id)
        made = self.held.made_at
        if at is not None and made is not None and score.fact.created_at <= made:
            return float(self.estimate.expected[at])
        return float(self.surprise.z[index])

    def _reason(self, score: Score, member: int, index: int, z: float) -> str:
        spread = float(self.surprise.spread[index])
        slowness = float(self.surprise.slowness[index] + self.surprise.excess[index]) - z * spread
        levels, until = self.estimate.levels, self.held.until
        own = 0
        if member >= 0:
            own = int(levels.results[levels.start[member] : levels.start[member + 1]].sum())
        return unlike(
            z * spread,
            results=own,
            gym_results=self.held.results,
            until=f"{until.day} {until:%b %Y}" if until else "",
            expected=self._expected(self.results[score.result_id], slowness, z, spread),
        )

    def _expected(
        self, result: CoreResult, slowness: float, z: float, spread: float
    ) -> tuple[str, str] | None:
        if isinstance(result.mark, IntervalReps):
            return expected_reps(self.estimate, sum(result.mark.reps), z * spread, spread)
        return expected_marks(self.estimate, self.course, result.choices, slowness, spread)


def _widths(course: Course) -> dict[Way, float]:
    """Units in one raw rep, of the ways of lines where that isn't one: a run of 400 metres."""
    found: dict[Way, float] = {}
    for line in course.lines:
        width = float(units(line))
        if width == 1:
            continue
        ways = [way_of(line)]
        ways += [way_of(line, Choice(line.index, n)) for n in range(len(line.line.options))]
        for way in ways:
            found[way] = max(width, found.get(way, 0.0))
    return found
