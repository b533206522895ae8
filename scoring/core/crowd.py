"""Where a class stopped: the order of its members along the course, quarters, counts by set.

A quarter, half or any share of a list is the value at which at least that share of the
list has been counted (the nearest rank). So every such figure is one that somebody
really reached, and can be counted out by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import TypeVar

from .course import MAX_SET_REPS, Course
from .marks import Caught, Finished, IntervalReps, Lifted, Mark
from .prescription import LB_IN_KG, BlockKind, clock_text

T = TypeVar("T")

QUARTERS = (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))


@dataclass(frozen=True, slots=True)
class Stop:
    """Where one member ended.

    ``amount`` is in raw reps, in kilograms for a strength piece. ``seconds`` is the
    finishing time of those who finished. ``id`` is the caller's own.
    """

    id: int
    amount: Fraction
    seconds: Fraction | None
    prescribed: bool

    @property
    def order(self) -> tuple[bool, Fraction, Fraction]:
        """The least far first; of those who finished, the slowest first."""
        return self.seconds is not None, self.amount, -(self.seconds or Fraction(0))


def stop_of(course: Course, mark: Mark, *, id: int, prescribed: bool) -> Stop:
    """A mark as a place in the crowd."""
    seconds, amount = None, Fraction(0)
    if isinstance(mark, Finished):
        seconds, amount = mark.seconds, Fraction(course.total or 0)
    elif isinstance(mark, Lifted):
        amount = mark.amount * (LB_IN_KG if mark.unit == "lb" else 1)
    elif isinstance(mark, IntervalReps):
        amount = Fraction(sum(mark.reps))
    elif isinstance(mark, Caught):
        amount = Fraction(mark.reps)
    return Stop(id, amount, seconds, prescribed)


def at_share(ordered: Sequence[T], share: Fraction) -> T:
    """The nearest rank: of ``ordered``, the first value with at least ``share`` up to it.

    Raises ``ValueError`` for an empty sequence or a share outside 0 < share ≤ 1.
    """
    if not ordered or not 0 < share <= 1:
        raise ValueError("A share above 0 and at most 1 of something is asked for.")
    return ordered[ceil(share * len(ordered)) - 1]


def quarters(ordered: Sequence[T]) -> tuple[T, T, T] | None:
    """Values at a quarter, a half and three quarters of ``ordered``; ``None`` for nothing."""
    if not ordered:
        return None
    low, middle, high = (at_share(ordered, share) for share in QUARTERS)
    return low, middle, high


def by_order(stops: Iterable[Stop]) -> list[Stop]:
    """The least far first."""
    return sorted(stops, key=lambda stop: (*stop.order, stop.id))


def is_course(course: Course) -> bool:
    """Whether marks are places: neither intervals nor a strength piece."""
    kinds = {block.block.kind for block in course.blocks}
    return bool(kinds) and not kinds & {BlockKind.INTERVALS, BlockKind.MAX_LOAD}


@dataclass(frozen=True, slots=True)
class StoppedIn:
    """A set of the course and who stopped in it, before its last rep.

    ``share`` is of all who logged; ``by_here`` the share that got no further.
    """

    where: str
    movement: str
    count: int
    prescribed: int
    share: Fraction
    by_here: Fraction

    @property
    def scaled(self) -> int:
        return self.count - self.prescribed


def stopped_in(course: Course, stops: Sequence[Stop]) -> list[StoppedIn]:
    """One row for each set in which somebody stopped, in course order, the finish last.

    Empty where marks are no places. A place at the very start of a set counts to it.
    """
    if not is_course(course):
        return []

    def spot(stop: Stop) -> int | None:
        return None if stop.seconds is not None else course.place(int(stop.amount)).index

    def words(index: int | None) -> tuple[str, str]:
        if index is None:
            return "finished", ""
        course_set = course.set_at(index)
        count = "max" if course_set.count == MAX_SET_REPS else str(course_set.count)
        return course.where(course_set), f"{count} {course_set.line.line.movement}"

    return _counted(stops, spot, words)


def _counted(
    stops: Sequence[Stop],
    spot: Callable[[Stop], int | None],
    words: Callable[[int | None], tuple[str, str]],
) -> list[StoppedIn]:
    ordered = by_order(stops)
    groups: dict[int | None, list[Stop]] = {}
    for stop in ordered:
        groups.setdefault(spot(stop), []).append(stop)
    rows, before, total = [], 0, len(ordered)
    for index, there in groups.items():
        before += len(there)
        where, movement = words(index)
        rows.append(
            StoppedIn(
                where,
                movement,
                len(there),
                sum(stop.prescribed for stop in there),
                Fraction(len(there), total),
                Fraction(before, total),
            )
        )
    return rows


def most_stopped(rows: Sequence[StoppedIn]) -> StoppedIn | None:
    """The set that stopped most, the earliest of equals; ``None`` where no set stopped two."""
    caught = [row for row in rows if row.movement and row.count > 1]
    return max(caught, key=lambda row: row.count) if caught else None


def place_words(course: Course, stop: Stop) -> str:
    """A stop in words: ``12:34``, ``2 rounds + 9``, ``82.5 kg``, ``148 reps``."""
    if stop.seconds is not None:
        return clock_text(stop.seconds)
    if is_course(course):
        return course.describe(course.place(int(stop.amount)))
    if course.blocks and course.workout_block(1).kind is BlockKind.MAX_LOAD:
        return f"{float(stop.amount):.4g} kg"
    return f"{stop.amount} reps"


@dataclass(frozen=True, slots=True)
class Interval:
    """Reps of one interval over all who noted each: how many, and the quarters of them."""

    number: int
    count: int
    low: int
    middle: int
    high: int


def intervals(marks: Iterable[Mark]) -> list[Interval]:
    """The reps of each interval, of those who noted them one by one.

    Intervals that somebody left out at the end count 0, as they do in the score.
    """
    noted = [mark.reps for mark in marks if isinstance(mark, IntervalReps)]
    longest = max(map(len, noted), default=0)
    found = []
    for number in range(longest):
        reps = sorted(r[number] if number < len(r) else 0 for r in noted)
        low, middle, high = (at_share(reps, share) for share in QUARTERS)
        found.append(Interval(number + 1, len(reps), low, middle, high))
    return found
