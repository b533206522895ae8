"""What a workout asks of the body, by movement pattern, and patterns on days running.

Minutes are usual seconds of the catalogue times what is written; where a clock ends the
work they are cut to it. Both they and the bounds below are common practice, no source: they
are there so that a coach sees a week at a glance, not to tell anybody that it is safe.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from . import catalogue
from .course import Course, CourseLine
from .movements import Pattern
from .prescription import BlockKind, Workout

HEAVY_PIECE = 300
"""Seconds that a piece for the heaviest load counts (common practice, no source)."""

MUCH = 120
"""A pattern counts for a day from so many seconds (common practice, no source)."""

RUNNING = 3
"""So many days running are pointed out (common practice, no source)."""

NOT_POINTED_OUT = frozenset({Pattern.MOBILITY, Pattern.LOCOMOTION})
"""Easy by nature, or daily bread: nobody is told that they come every day."""


@dataclass(frozen=True, slots=True)
class Work:
    """Seconds of a pattern; ``has_load`` if a weight is written on some of it."""

    seconds: int
    has_load: bool


def work_by_pattern(workout: Workout) -> dict[Pattern, Work]:
    """The scored part of a workout by pattern, in the order of ``Pattern``.

    Warm-up, cool-down and rests are left out, and movements the catalogue doesn't know.
    """
    course = Course(workout, weighted=True)
    seconds: dict[int, Fraction] = dict.fromkeys(range(len(course.lines)), Fraction(0))
    intervals = {b.number: b.block for b in course.blocks if b.block.kind is BlockKind.INTERVALS}
    for course_set in course.sets:
        line = course_set.line
        if line.block in intervals and line.line.count is None:
            continue  # written max: what is left of the interval, below
        seconds[line.index] += Fraction(course_set.reps * line.weight, 10)
    for number, block in intervals.items():
        own = [line for line in course.lines if line.block == number]
        _fill_intervals(own, seconds, Fraction((block.seconds or 0) * block.rounds))
    _cut_to_clock(course, seconds)
    for line in course.lines:
        if course.blocks[line.block - 1].block.kind is BlockKind.MAX_LOAD:
            seconds[line.index] = Fraction(HEAVY_PIECE)
    return _summed(course, seconds)


def _fill_intervals(own: list[CourseLine], seconds: dict[int, Fraction], whole: Fraction) -> None:
    done = sum((seconds[line.index] for line in own), Fraction(0))
    if done > whole:
        for line in own:
            seconds[line.index] *= whole / done
    elif own and own[-1].line.count is None:
        seconds[own[-1].index] = whole - done


def _cut_to_clock(course: Course, seconds: dict[int, Fraction]) -> None:
    """Fill the closing AMRAP up to the clock; where the clock comes first, cut what it cuts.

    Nobody knows which set the clock cuts, so all of the course shrinks alike.
    """
    if course.limit is None:
        return
    rests = sum(b.seconds or 0 for b in course.workout.scored_blocks if b.kind is BlockKind.REST)
    left = Fraction(course.limit - rests) - sum(seconds.values(), Fraction(0))
    if left < 0:
        share = max(Fraction(0), Fraction(course.limit - rests)) / (course.limit - rests - left)
        for index in seconds:
            seconds[index] *= share
    elif course.tail:
        rounds = left / Fraction(sum(s.reps * s.line.weight for s in course.tail), 10)
        for course_set in course.tail:
            line = course_set.line
            seconds[line.index] += rounds * course_set.reps * line.weight / 10


def _summed(course: Course, seconds: Mapping[int, Fraction]) -> dict[Pattern, Work]:
    found: dict[Pattern, Work] = {}
    for line in course.lines:
        known = catalogue.find(line.line.movement)
        if known is None:
            continue
        before = found.get(known.pattern, Work(0, False))
        heavy = course.blocks[line.block - 1].block.kind is BlockKind.MAX_LOAD
        found[known.pattern] = Work(
            before.seconds + round(seconds[line.index]),
            before.has_load or heavy or line.line.load is not None,
        )
    return {pattern: found[pattern] for pattern in Pattern if pattern in found}


def heaviest(classes: Iterable[Mapping[Pattern, Work]]) -> dict[Pattern, Work]:
    """A day's work by pattern: the most that one of its classes asks, since a member comes
    to one of them."""
    day: dict[Pattern, Work] = {}
    for one in classes:
        for pattern, work in one.items():
            seen = day.get(pattern)
            if seen is None:
                day[pattern] = work
            else:
                day[pattern] = Work(max(seen.seconds, work.seconds), seen.has_load or work.has_load)
    return {pattern: day[pattern] for pattern in Pattern if pattern in day}


@dataclass(frozen=True, slots=True)
class Run:
    """A pattern on days running; ``has_load`` if a weight is written on each of them."""

    pattern: Pattern
    days: tuple[date, ...]
    has_load: bool


def runs(days: Mapping[date, Mapping[Pattern, Work]]) -> tuple[Run, ...]:
    """Every pattern that is asked for on ``RUNNING`` days running or more.

    A day counts from ``MUCH`` seconds. In the order of ``Pattern``, then of days.
    """
    found = []
    for pattern in Pattern:
        if pattern in NOT_POINTED_OUT:
            continue
        on = sorted(d for d, w in days.items() if pattern in w and w[pattern].seconds >= MUCH)
        for stretch in _stretches(on):
            if len(stretch) >= RUNNING:
                has_load = all(days[day][pattern].has_load for day in stretch)
                found.append(Run(pattern, tuple(stretch), has_load))
    return tuple(found)


def _stretches(days: list[date]) -> list[list[date]]:
    stretches: list[list[date]] = []
    for day in days:
        if stretches and day - stretches[-1][-1] == timedelta(days=1):
            stretches[-1].append(day)
        else:
            stretches.append([day])
    return stretches
