"""Pacing hints: how to break big sets up, and where the clock may stand after each block.

The seconds are the catalogue's usual ones a rep: common practice, no source. So is breaking
a set of ten or more into even parts of at most eight. It is a plan to start from, and no
member's own pace.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import groupby

from .course import Course, CourseSet
from .prescription import Block, BlockKind, Unit, Workout, clock_text

BIG = 10
"""The smallest set that is broken up (common practice, no source)."""

LARGEST_PART = 8
"""The most reps of a part (common practice, no source)."""

STEP = 10
"""Plans are rounded to so many seconds: they are rough, and should look it."""

_SHOWN = 6


def split(reps: int) -> tuple[int, ...]:
    """A set in the fewest even parts of at most ``LARGEST_PART``, the larger ones first.

    One part where it is less than ``BIG``. Raises ``ValueError`` below 1.
    """
    if reps < 1:
        raise ValueError("A set has at least one rep.")
    if reps < BIG:
        return (reps,)
    parts = -(-reps // LARGEST_PART)
    size, larger = divmod(reps, parts)
    return (size + 1,) * larger + (size,) * (parts - larger)


def split_text(parts: tuple[int, ...]) -> str:
    """``6-6-6``; where that gets long, ``2 × 8, then 6 × 7``."""
    if len(parts) <= _SHOWN:
        return "-".join(map(str, parts))
    runs = [(size, len(list(same))) for size, same in groupby(parts)]
    return ", then ".join(f"{times} × {size}" for size, times in runs)


@dataclass(frozen=True, slots=True)
class Hint:
    """How to break up a set of ``count`` reps; ``count`` is for each side if ``per_side``."""

    block: int
    movement: str
    count: int
    parts: tuple[int, ...]
    per_side: bool

    @property
    def text(self) -> str:
        return split_text(self.parts)


def hints(course: Course) -> tuple[Hint, ...]:
    """One for every size of set of ten reps or more at each line, in the course's order.

    Calories, distances and holds have none: they are done at a steady pace.
    """
    found: dict[tuple[int, int], Hint] = {}
    for course_set in (*course.sets, *course.tail):
        line, count = course_set.line.line, course_set.count
        if line.unit is Unit.REPS and count >= BIG and not _is_open(course, course_set):
            key = (course_set.line.index, count)
            found.setdefault(
                key, Hint(course_set.block, line.movement, count, split(count), line.per_side)
            )
    return tuple(found.values())


class Kind(StrEnum):
    """What a plan says of its block."""

    FINITE = "finite"
    AMRAP = "amrap"
    INTERVALS = "intervals"


@dataclass(frozen=True, slots=True)
class Plan:
    """A block's rough times in whole seconds.

    ``work`` is the usual time of all of it, of one round of an AMRAP, or of one interval.
    ``starts`` and ``ends`` are on the clock; an AMRAP and intervals end with it. ``rounds``
    are the whole rounds of an AMRAP that fit. ``spare`` is what is left of the clock after a
    finite block, or of each interval; below 0 where the usual pace is too slow for it.
    """

    block: int
    kind: Kind
    work: int
    starts: int
    ends: int
    rounds: int | None = None
    spare: int | None = None

    @property
    def fits(self) -> bool:
        """Whether the usual pace gets through it before the clock stops."""
        return self.spare is None or self.spare >= 0


def plans(workout: Workout) -> tuple[Plan, ...]:
    """A plan for each block of the course that is against the clock, in order."""
    course = Course(workout, weighted=True)
    if course.limit is None:
        return ()
    made: list[Plan] = []
    clock = Fraction(0)
    number = 0
    by_block: dict[int, list[CourseSet]] = {}
    for course_set in (*course.sets, *course.tail):
        by_block.setdefault(course_set.block, []).append(course_set)
    for block in workout.scored_blocks:
        if block.kind is BlockKind.REST:
            clock += block.seconds or 0
            continue
        number += 1
        sets = by_block[number]
        made.append(_plan(number, block, sets, clock, course.limit))
        clock += _seconds(sets)
    return tuple(made)


def _plan(number: int, block: Block, sets: list[CourseSet], clock: Fraction, limit: int) -> Plan:
    if block.kind is BlockKind.INTERVALS:
        counted = [s for s in sets if s.round == 1 and s.line.line.count is not None]
        work = _seconds(counted)
        return Plan(
            number, Kind.INTERVALS, rough(work), 0, limit, spare=_spare((block.seconds or 0) - work)
        )
    work = _seconds(sets)
    if block.kind is BlockKind.AMRAP:
        left = max(Fraction(0), limit - clock)
        return Plan(number, Kind.AMRAP, rough(work), rough(clock), limit, rounds=int(left // work))
    return Plan(
        number,
        Kind.FINITE,
        rough(work),
        rough(clock),
        rough(clock + work),
        spare=_spare(limit - clock - work),
    )


def rough(seconds: Fraction) -> int:
    """Whole seconds, to the nearest ``STEP``; what takes any time takes at least one."""
    return max(STEP if seconds > 0 else 0, round(seconds / STEP) * STEP)


def _spare(seconds: Fraction | int) -> int:
    """Rounded as ``rough`` does, and never across 0: what does not fit must not seem to."""
    exact = Fraction(seconds)
    return rough(exact) if exact >= 0 else -rough(-exact)


def _is_open(course: Course, course_set: CourseSet) -> bool:
    """Whether a set is written ``max``: its count comes neither from its line nor a rung."""
    return course_set.line.line.count is None and not course.workout_block(course_set.block).rungs


def _seconds(sets: list[CourseSet]) -> Fraction:
    """Usual seconds of sets; a weighted course has tenths of them as weights."""
    return Fraction(sum(s.reps * s.line.weight for s in sets), 10)


def plan_text(plan: Plan) -> str:
    """A plan as one or two plain sentences."""
    if plan.kind is Kind.INTERVALS:
        spare = plan.spare or 0
        if spare < 0:
            return (
                f"About {clock_text(plan.work)} of work at the usual pace, which is longer than "
                "the interval: choose easier options."
            )
        if plan.work == 0:
            return "As much as goes well in every interval; begin below what you could do."
        return (
            f"About {clock_text(plan.work)} of work in each interval, "
            f"and about {clock_text(spare)} of it left."
        )
    if plan.kind is Kind.AMRAP:
        rounds = plan.rounds or 0
        if rounds == 0:
            return (
                f"A round takes about {clock_text(plan.work)}. At the usual pace there is no time "
                "for a whole one; every rep counts."
            )
        begins = f", from about {clock_text(plan.starts)}" if plan.starts else ""
        times = f"{rounds} whole round{'' if rounds == 1 else 's'}"
        return f"A round takes about {clock_text(plan.work)}: about {times}{begins}."
    text = f"About {clock_text(plan.work)} of work, so done at about {clock_text(plan.ends)}"
    if not plan.fits:
        return f"{text}, after the clock has stopped. Every rep until then counts."
    return f"{text}."
