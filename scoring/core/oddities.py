"""What in a result is worth asking a coach about. Nothing is removed or changed by it.

Three things are asked: whether anybody can be that fast, whether the mark is like the
member's own results before, and whether somebody gave all they had in their first class. A
mark that can't be at all (past the cap, splits that go back) never comes this far: it is
refused when it is sent. The same mark with the same splits from two people is no oddity;
members train side by side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import ceil, exp, log
from statistics import median

from . import catalogue
from .course import Course, CourseLine
from .marks import Caught, Finished, IntervalReps, Lifted
from .prescription import BlockKind, Unit, clock_text
from .scoring import Result, line_counts, reps_of

QUICKEST = Fraction(2, 5)
"""The share of a movement's usual seconds below which nobody does a whole set of it: a
push-up in 0.6 s, a burpee in 1.6 s (common practice, no source)."""

LEAST_BEFORE = 5
"""So many results make a history; with fewer nothing is asked (common practice, no source)."""

TO_SPREAD = 1.4826
"""The median distance from the median, times this, is the standard deviation of normally
distributed figures: 1 / 0.6745, the normal distribution's third quartile."""

LEAST_SPREAD = 0.10
"""Nobody is steadier than about 10 % from class to class: a very even history must not make
a good day odd (common practice, no source)."""

FAR = 3.5
"""So many spreads from the median are far: Iglewicz and Hoaglin 1993, How to Detect and
Handle Outliers, page 11 (from memory)."""

ALL_OUT = 10
"""The most on the scale of effort."""


class Kind(StrEnum):
    """What is asked about."""

    FAST = "fast"
    UNLIKE = "unlike"
    ALL_OUT = "all-out"


@dataclass(frozen=True, slots=True)
class Oddity:
    """One question: what it is about, and why it is asked, in a sentence or two."""

    kind: Kind
    reason: str


def oddities(
    course: Course,
    result: Result,
    *,
    effort: int | None = None,
    is_first: bool = False,
    share: float | None = None,
    before: Sequence[float] = (),
) -> tuple[Oddity, ...]:
    """Everything to ask about one result.

    Parameters
    ----------
    effort
        From 0 to 10, ``None`` if it was not told.
    is_first
        Whether it is the member's first result of all.
    share
        Their adjusted pace over the class's median, greater than 0; ``None`` if unknown.
    before
        The same of their earlier classes.
    """
    found = (
        (Kind.FAST, too_fast(course, result)),
        (Kind.UNLIKE, unlike_before(share, before)),
        (Kind.ALL_OUT, all_out_at_first(effort, is_first=is_first)),
    )
    return tuple(Oddity(kind, reason) for kind, reason in found if reason)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Reps of each line done in so many seconds."""

    told: str
    counts: tuple[int, ...]
    seconds: Fraction


def too_fast(course: Course, result: Result) -> str:
    """Why nobody can be that fast, for the first stretch where it is so; else empty.

    Every stretch between two known times is looked at: the whole, a block by its splits, one
    interval. The quickest option that was used counts for the whole of its line, and what the
    catalogue doesn't know counts nothing, so that in doubt nothing is asked.
    """
    quickest = [_quickest(line, result) for line in course.lines]
    for stretch in stretches(course, result):
        least = sum(
            (count * each for count, each in zip(stretch.counts, quickest, strict=True)),
            Fraction(0),
        )
        if least > stretch.seconds:
            reps = sum(stretch.counts)
            took, needs = clock_text(int(stretch.seconds)), clock_text(ceil(least))
            return (
                f"{stretch.told}{reps} rep{'' if reps == 1 else 's'} in {took}. Even somebody very "
                f"quick needs about {needs}."
            )
    return ""


def _quickest(course_line: CourseLine, result: Result) -> Fraction:
    """The least seconds of a raw rep of a line, in the quickest way it was done."""
    line = course_line.line
    units = line.units_per_rep or line.count or 1
    if line.unit is Unit.SECONDS:
        return Fraction(units)  # a hold takes as long as it is
    names = {line.movement}
    for choice in result.choices:
        if choice.line == course_line.index and choice.option is not None:
            names.add(line.options[choice.option].movement)
    known = [catalogue.find(name) for name in names]
    usual = min((each.seconds if each else Fraction(0) for each in known), default=Fraction(0))
    return usual * QUICKEST * (units if line.unit is Unit.METRES else 1)


def stretches(course: Course, result: Result) -> Iterator[Stretch]:
    mark = result.mark
    if isinstance(mark, Lifted) or (course.limit is None and not isinstance(mark, Finished)):
        return
    if isinstance(mark, IntervalReps):
        seconds = course.blocks[0].block.seconds
        for number, reps in enumerate(mark.reps, start=1):
            counts = line_counts(course, IntervalReps((reps,)))
            yield Stretch(f"Interval {number}: ", counts, Fraction(seconds or 0))
        return
    whole = reps_of(course, mark)
    end = mark.seconds if isinstance(mark, Finished) else Fraction(course.limit or 0)
    if course.blocks and course.workout_block(1).kind is BlockKind.INTERVALS:
        # The sum of all intervals doesn't say which reps they were.
        return
    done, clock, since = course.line_reps(0), Fraction(0), 0
    for number in sorted(result.splits):
        counts = course.line_reps(course.block_end(number))
        first = since + 1
        told = f"Block {number}: " if first == number else f"Blocks {first} to {number}: "
        yield Stretch(told, _less(counts, done), result.splits[number] - clock)
        done, clock, since = counts, result.splits[number], number
    if isinstance(mark, (Finished, Caught)) and end > clock:
        told = "" if not since else "The rest: "
        yield Stretch(told, _less(course.line_reps(whole), done), end - clock)


def _less(counts: Sequence[int], done: Sequence[int]) -> tuple[int, ...]:
    return tuple(max(0, count - had) for count, had in zip(counts, done, strict=True))


def unlike_before(share: float | None, before: Sequence[float]) -> str:
    """Why a pace against the class is far from somebody's own ones before; else empty.

    ``share`` and ``before`` are paces over their class's median, each greater than 0. Their
    logarithms are compared, so that twice as fast and half as fast are equally far. Median
    and median distance are not moved by one bad day in the history.
    """
    past = [log(each) for each in before if each > 0]
    if share is None or share <= 0 or len(past) < LEAST_BEFORE:
        return ""
    middle = median(past)
    spread = max(LEAST_SPREAD, TO_SPREAD * median(abs(each - middle) for each in past))
    if abs(log(share) - middle) <= FAR * spread:
        return ""
    low, high = _percent(min(past)), _percent(max(past))
    return (
        f"{_percent(log(share))} of the class's middle pace. In their last {len(past)} results it "
        f"was {_percent(middle)} in the middle, from {low} to {high}."
    )


def _percent(logarithm: float) -> str:
    return f"{round(100 * exp(logarithm))} %"


def all_out_at_first(effort: int | None, *, is_first: bool) -> str:
    """Why to ask after somebody who gave all they had in their first class; else empty."""
    if not is_first or effort != ALL_OUT:
        return ""
    return (
        "Effort 10 of 10 in their first class. Ask how they are: severe muscle pain, weakness or "
        "dark urine in the days after is an emergency for a doctor."
    )
