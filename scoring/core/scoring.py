"""From a result to its score, exactly.

``score`` is the arithmetic alone and fast; ``breakdown`` (breakdown.py) opens a score up.
The rules in prose, with worked tables, stand in ``scoring/SCORING.md``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from .course import Course, PlaceError
from .credits import Choice, ChoiceError, CreditTable, Portion, portions
from .marks import (
    Finished,
    IntervalReps,
    Lifted,
    Mark,
    MarkError,
    check_mark,
    parse_clock,
)
from .prescription import CREDIT_SCALE, LB_IN_KG, BlockKind, clock_text
from .ranking import NO_SPLIT
from .schemes import Adjusted, Work, scheme_for

RULES_VERSION = 1
"""Stamped on every score; raised with any change that could move one."""


class ScoringError(ValueError):
    """A result that cannot be scored; ``column`` is mark, options or splits."""

    def __init__(self, column: str, problem: str, suggestion: str) -> None:
        super().__init__(problem)
        self.column = column
        self.problem = problem
        self.suggestion = suggestion


@dataclass(frozen=True, slots=True)
class Rules:
    """What a class scores by.

    ``tie_break_block`` is the number of the block whose split breaks ties.
    """

    table: CreditTable = field(default_factory=CreditTable)
    above_one: bool = False
    tie_break_block: int | None = None


@dataclass(frozen=True, slots=True)
class Result:
    """What a member reports. ``splits`` are seconds at the end of blocks, by number."""

    mark: Mark
    choices: tuple[Choice, ...] = ()
    splits: Mapping[int, Fraction] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Score:
    """A result's score; every figure exact.

    ``credited`` is in reps, in reference seconds where reps are weighed, in kilograms in
    a strength piece. ``performance`` is credited reps a second (kilograms).
    """

    raw_reps: int
    credited: Fraction
    seconds: Fraction
    performance: Fraction
    key: int
    tie_key: int
    as_prescribed: bool
    adjusted: Adjusted
    scheme: str
    portions: tuple[Portion, ...]

    @property
    def pace_per_minute(self) -> Fraction:
        """Credited reps a minute (kilograms in a strength piece)."""
        return self.performance if self.scheme == "max-load" else self.performance * 60


def reps_of(course: Course, mark: Mark) -> int:
    """Raw reps of a mark."""
    if isinstance(mark, Finished):
        return course.total or 0
    if isinstance(mark, IntervalReps):
        return sum(mark.reps)
    return mark.reps


def line_counts(course: Course, mark: Mark) -> tuple[int, ...]:
    """Raw reps of each course line."""
    if isinstance(mark, Lifted):
        return (mark.reps,)
    if not isinstance(mark, IntervalReps):
        return course.line_reps(reps_of(course, mark))
    counts = [0] * len(course.lines)
    for left in mark.reps:
        for course_set in course.sets[: len(course.lines)]:
            done = min(left, course_set.reps)
            counts[course_set.line.index] += done
            left -= done
    return tuple(counts)


def score(course: Course, result: Result, rules: Rules) -> Score:
    """Score one result.

    Raises
    ------
    ScoringError
        When the mark, the options or the splits cannot be.
    """
    mark = result.mark
    try:
        check_mark(course, mark)
    except MarkError as error:
        raise ScoringError("mark", error.problem, error.suggestion) from None
    if (
        result.choices
        and not isinstance(mark, IntervalReps)
        and course.workout_block(1).kind is BlockKind.INTERVALS
    ):
        raise ScoringError(
            "mark",
            "With options the total alone does not say which reps they were.",
            "Write the reps of each interval: 20 / 18 / 17.",
        )
    raw = reps_of(course, mark)
    try:
        parts = portions(
            course,
            line_counts(course, mark),
            result.choices,
            rules.table,
            above_one=rules.above_one,
        )
    except ChoiceError as error:
        raise ScoringError("options", error.problem, error.suggestion) from None
    seconds = mark.seconds if isinstance(mark, Finished) else Fraction(course.limit or 1)
    check_splits(course, result.splits, raw, seconds)
    scaled = sum(p.reps * course.lines[p.line].weight * int(p.credit * CREDIT_SCALE) for p in parts)
    credited = Fraction(scaled, CREDIT_SCALE * (10 if course.weighted else 1))
    if isinstance(mark, Lifted):
        kilograms = mark.amount * (LB_IN_KG if mark.unit == "lb" else 1)
        credited = kilograms * parts[0].credit
    work = Work(mark, raw, credited, seconds)
    scheme = scheme_for(course)
    performance = scheme.performance(course, work)
    try:
        key = scheme.key(performance)
    except OverflowError:
        raise ScoringError(
            "mark",
            f"{raw} reps in {clock_text(seconds)} cannot be right.",
            "Check the reps and the time.",
        ) from None
    return Score(
        raw_reps=raw,
        credited=credited,
        seconds=seconds,
        performance=performance,
        key=key,
        tie_key=tie_key_of(scheme.tie_key(work), result.splits, rules),
        as_prescribed=all(p.prescribed for p in parts),
        adjusted=_finished_from_nothing(course) if not credited else scheme.adjusted(course, work),
        scheme=scheme.name,
        portions=tuple(parts),
    )


def tie_key_of(unbroken: int, splits: Mapping[int, Fraction], rules: Rules) -> int:
    """A tie key with the split that breaks ties, where the class named one and the scheme
    leaves the tie (``unbroken`` is 0)."""
    if rules.tie_break_block is None or unbroken:
        return unbroken
    split = splits.get(rules.tie_break_block)
    return NO_SPLIT if split is None else split.numerator * 100 // split.denominator


def _finished_from_nothing(course: Course) -> Adjusted:
    """Nothing done is nothing adjusted: the start of the course."""
    if course.sets or course.tail:
        kind = course.workout_block(1).kind
        if kind is not BlockKind.INTERVALS:
            return Adjusted(course.describe(course.place(0)), reps=Fraction(0))
    return Adjusted("0 reps", reps=Fraction(0))


def check_splits(
    course: Course, splits: Mapping[int, Fraction], raw: int, seconds: Fraction
) -> None:
    """Raise ``ScoringError`` unless the splits can be: blocks passed, in rising order."""
    before, last = Fraction(0), 0
    for number, split in sorted(splits.items()):
        try:
            end = course.block_end(number)
        except PlaceError as error:
            raise ScoringError("splits", str(error), "Give a split of a block passed.") from None
        if end > raw or not end:
            raise ScoringError(
                "splits",
                f"The end of block {number} was not reached by this mark.",
                "Leave that split out, or correct the mark.",
            )
        if not before < split <= seconds or 100 % split.denominator:
            after = f" after block {last}'s {clock_text(before)}" if last else ""
            raise ScoringError(
                "splits",
                f"The split of block {number}, {clock_text(split)}, cannot be right.",
                f"It lies{after} up to {clock_text(seconds)}.",
            )
        before, last = split, number


def parse_splits(course: Course, text: str) -> dict[int, Fraction]:
    """Read ``4:10; 9:55`` (blocks in order) or ``block 2 9:55``.

    Raises
    ------
    ScoringError
        When a part is no time or names no block.
    """
    found: dict[int, Fraction] = {}
    parts = [part.strip() for part in text[:1000].split(";") if part.strip()]
    for position, part in enumerate(parts, start=1):
        words = part.lower().removeprefix("block").split()
        clock = words[-1] if words else ""
        number = position
        if len(words) == 2 and words[0].rstrip(":").isdecimal() and len(words[0]) < 5:
            number = int(words[0].rstrip(":"))
        elif len(words) != 1:
            raise ScoringError("splits", f"{part!r} is no split.", "Write block 1 4:10.")
        try:
            found[number] = parse_clock(clock)
        except MarkError as error:
            raise ScoringError("splits", error.problem, "Write 4:10, or block 2 9:55.") from None
        if not 1 <= number <= len(course.blocks):
            raise ScoringError(
                "splits",
                f"There is no block {number}.",
                f"The course has {len(course.blocks)} blocks.",
            )
    return found


def splits_text(splits: Mapping[int, Fraction]) -> str:
    """Splits as text that ``parse_splits`` reads back."""
    return "; ".join(
        f"block {number} {clock_text(int(s))}" + (f".{int(s * 100 % 100):02d}" if s % 1 else "")
        for number, s in sorted(splits.items())
    )
