"""What a workout asks of the body, by movement pattern, and patterns on days running.

Minutes are usual seconds of the catalogue times the reps done until the clock stops at
that pace, the same as the page on which a class is written says. Both they and the bounds
below are common practice, no source: they are there so that a coach sees a week at a
glance, not to tell anybody that it is safe.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from . import catalogue
from .course import Course
from .movements import Pattern
from .prescription import BlockKind, Workout
from .totals import asked, rep_seconds

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
    reps = asked(workout).reached if course.limit else asked(workout).counts
    seconds = [n * rep_seconds(line) for n, line in zip(reps, course.lines, strict=True)]
    for block in course.blocks:
        if block.block.kind is BlockKind.MAX_LOAD:
            seconds = [Fraction(HEAVY_PIECE)] * len(seconds)
        elif block.block.kind is BlockKind.INTERVALS:
            whole = Fraction((block.block.seconds or 0) * block.block.rounds)
            fits = min(Fraction(1), whole / (sum(seconds) or whole))
            seconds = [each * fits for each in seconds]
    return _summed(course, seconds)


def _summed(course: Course, seconds: Sequence[Fraction]) -> dict[Pattern, Work]:
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
    return {p: found[p] for p in Pattern if p in found and found[p].seconds}


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
