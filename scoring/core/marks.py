"""Marks: how far a member got, as types, and the text they are written in.

``12:34`` finished · ``2+9`` rounds + reps of the AMRAP · ``189 reps`` raw reps ·
``block 2 / 10 / hand-release push-up / 6`` a place · ``20 / 18 / 17`` reps of each
interval · ``82.5 kg`` or ``82.5 kg x 3`` a lift.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache

from .catalogue import meant
from .course import Course, PlaceError
from .prescription import BlockKind, clock_text, decimal_text

MAX_TEXT = 200


class MarkError(ValueError):
    """A mark that cannot be read or cannot be; ``suggestion`` says what would be right."""

    def __init__(self, problem: str, suggestion: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.suggestion = suggestion


@dataclass(frozen=True, slots=True)
class Finished:
    """The whole finite course done in ``seconds`` (exact, hundredths at the finest)."""

    seconds: Fraction


@dataclass(frozen=True, slots=True)
class Caught:
    """Caught by the clock after ``reps`` raw reps."""

    reps: int


@dataclass(frozen=True, slots=True)
class IntervalReps:
    """Raw reps of each interval in order; intervals left out at the end count 0."""

    reps: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Lifted:
    """The heaviest load lifted for ``reps`` reps. ``amount`` is in ``unit`` (kg or lb)."""

    amount: Fraction
    unit: str
    reps: int


Mark = Finished | Caught | IntervalReps | Lifted

_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,4}):(\d{2})(?:[.,](\d{1,6}))?")
_ROUNDS = re.compile(r"(\d{1,7})(?:\s*(?:rounds?|rds?|r))?\s*\+\s*(\d{1,7})(?:\s*reps?)?", re.I)
_WHOLE_ROUNDS = re.compile(r"(\d{1,7})\s*rounds?", re.I)
_REPS = re.compile(r"(\d{1,9})\s*(?:raw\s+)?reps?", re.I)
_LIFT = re.compile(
    r"(\d{1,4}(?:[.,]\d{1,3})?)\s*(kg|kgs|lb|lbs)(?:\s*(?:[x×]|for)\s*(\d{1,3})(?:\s*reps?)?)?",
    re.I,
)


@lru_cache(maxsize=8192)
def parse_clock(text: str) -> Fraction:
    """Seconds of a clock text ``m:ss``, ``h:mm:ss`` or ``m:ss.hh``.

    Times are kept to a hundredth of a second, further digits are cut off: the declared
    resolution decides ties, not what a watch adds (the way swimming rule SW 11.2 does).

    Raises
    ------
    MarkError
        When the text is no time.
    """
    match = _CLOCK.fullmatch(text.strip())
    if not match:
        raise MarkError(f"{text.strip()!r} is not a time.", "Write minutes and seconds: 12:34.")
    hours, minutes, seconds, part = match.groups()
    if int(seconds) > 59 or (hours and int(minutes) > 59):
        raise MarkError(
            f"{text.strip()!r} is not a time.", "Seconds and minutes go to 59: 12:34 or 1:02:03."
        )
    whole = int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds)
    return Fraction(whole) + Fraction(int((part or "0").ljust(2, "0")[:2]), 100)


def examples(course: Course) -> str:
    """Marks this course understands, for messages and hints."""
    kinds = [block.block.kind for block in course.blocks]
    if BlockKind.MAX_LOAD in kinds:
        return "82.5 kg"
    if BlockKind.INTERVALS in kinds:
        return "the reps of each interval, 20 / 18 / 17, or all of them, 55 reps"
    if course.tail:
        first = "2+9 (rounds + reps of the AMRAP)"
        return first + (
            ", 60 reps, or a place such as " + _example_place(course)
            if course.sets
            else " or 60 reps"
        )
    return f"12:34 if you finished, else reps, or a place such as {_example_place(course)}"


def _example_place(course: Course) -> str:
    if not course.sets:
        return "40 reps"
    return _place_text(course, course.raw_of_set(len(course.sets) // 2))


def parse_mark(course: Course, text: str) -> Mark:
    """Read a mark against its course.

    Raises
    ------
    MarkError
        When it cannot be read, or cannot be on this course.
    """
    text = " ".join(text.split())
    if not text:
        raise MarkError("There is no mark.", f"Write {examples(course)}.")
    if len(text) > MAX_TEXT:
        raise MarkError("That is too long for a mark.", f"Write {examples(course)}.")
    mark = _read(course, text)
    check_mark(course, mark)
    return mark


def _read(course: Course, text: str) -> Mark:
    kinds = [block.block.kind for block in course.blocks]
    if not kinds:
        raise MarkError("This class is not scored.", "There is nothing to log.")
    if match := _LIFT.fullmatch(text):
        unit = "lb" if match[2].lower().startswith("lb") else "kg"
        asked = course.blocks[0].block.reps or 1
        amount = Fraction(match[1].replace(",", "."))
        return Lifted(amount, unit, int(match[3] or asked))
    parts = [part.strip() for part in text.split("/")]
    if BlockKind.INTERVALS in kinds and all(re.fullmatch(r"\d{1,6}", part) for part in parts):
        return IntervalReps(tuple(int(part) for part in parts))
    if len(parts) == 4:
        return Caught(_place_reps(course, parts))
    if match := _ROUNDS.fullmatch(text):
        return Caught(_rounds_reps(course, int(match[1]), int(match[2])))
    if match := _WHOLE_ROUNDS.fullmatch(text):
        return Caught(_rounds_reps(course, int(match[1]), 0))
    if match := _REPS.fullmatch(text):
        return Caught(int(match[1]))
    if _CLOCK.fullmatch(text):
        return Finished(parse_clock(text))
    raise MarkError(f"{text!r} is not a mark this class understands.", f"Write {examples(course)}.")


def _rounds_reps(course: Course, rounds: int, reps: int) -> int:
    if course.tail:
        if reps >= course.round_reps:
            raise MarkError(
                f"A round has {course.round_reps} reps, so {reps} beyond {rounds} rounds "
                "cannot be right.",
                f"Write {rounds + reps // course.round_reps}+{reps % course.round_reps}, "
                "if that is what you mean.",
            )
        return course.amrap_start + rounds * course.round_reps + reps
    only = course.blocks[0].block
    if len(course.blocks) == 1 and only.kind is BlockKind.ROUNDS and course.total is not None:
        size = course.total // only.rounds
        if reps >= size or rounds * size + reps > course.total:
            raise MarkError(
                f"This workout is {only.rounds} rounds of {size} reps; {rounds}+{reps} is not "
                "on it.",
                f"Write {examples(course)}.",
            )
        return rounds * size + reps
    raise MarkError("This workout has no AMRAP to count rounds of.", f"Write {examples(course)}.")


def _place_reps(course: Course, parts: list[str]) -> int:
    block_text, round_text, movement, reps_text = parts
    block_match = re.fullmatch(r"(?:block\s*)?(\d{1,3})", block_text, re.I)
    round_match = re.fullmatch(
        r"(?:rung|round|rung of)?\s*(\d{1,6})(?:\s*#(\d{1,3}))?", round_text, re.I
    )
    reps_match = re.fullmatch(r"(\d{1,7})(?:\s*reps?)?(?:\s*done)?", reps_text, re.I)
    if not (block_match and round_match and reps_match):
        raise MarkError(
            f"{' / '.join(parts)!r} is not a place.",
            "Write block / rung or round / movement / reps done, such as "
            f"{_example_place(course)}.",
        )
    number = int(block_match[1])
    try:
        block = course.workout_block(number)
        names = [line.movement for line in block.lines]
        wanted = meant(movement.lower(), names)
        if wanted not in names:
            close = get_close_matches(wanted, names, 1) or names[:1]
            raise MarkError(
                f"Block {number} has no {movement!r}.",
                f"It has {', '.join(names)}; did you mean {close[0]}?",
            )
        round_number = int(round_match[1])
        if block.kind is BlockKind.LADDER:
            rungs = [i for i, rung in enumerate(block.rungs, 1) if rung == round_number]
            nth = int(round_match[2] or 1)
            if not 1 <= nth <= len(rungs):
                raise MarkError(
                    f"Block {number} has no rung of {round_number}"
                    + (f" number {nth}." if rungs else "."),
                    f"Its rungs are {'-'.join(map(str, block.rungs))}.",
                )
            round_number = rungs[nth - 1]
        place = course.place_at(
            block=number,
            round=round_number,
            position=names.index(wanted) + 1,
            reps=int(reps_match[1]),
        )
        return course.raw(place)
    except PlaceError as error:
        raise MarkError(str(error), f"Write a place such as {_example_place(course)}.") from None


def check_mark(course: Course, mark: Mark) -> None:
    """Raise ``MarkError`` unless ``mark`` is possible on ``course``."""
    kinds = [block.block.kind for block in course.blocks]
    hint = f"Write {examples(course)}."
    if not kinds:
        raise MarkError("This class is not scored.", "There is nothing to log.")
    if (BlockKind.MAX_LOAD in kinds) != isinstance(mark, Lifted):
        raise MarkError("That kind of mark does not belong to this class.", hint)
    if isinstance(mark, IntervalReps) and BlockKind.INTERVALS not in kinds:
        raise MarkError("This class has no intervals.", hint)
    if isinstance(mark, Lifted):
        asked = course.blocks[0].block.reps or 1
        if mark.unit not in ("kg", "lb") or not 0 < mark.amount <= 1000:
            raise MarkError("A load is more than 0 and at most 1000.", hint)
        if (mark.amount * 1000).denominator != 1:
            raise MarkError("A load has at most three decimals.", hint)
        if not 1 <= mark.reps <= asked:
            raise MarkError(
                f"The piece asks for {asked} reps; {mark.reps} cannot be right.",
                f"Write the load for 1 to {asked} reps, such as 80 kg x {asked}.",
            )
        return
    if isinstance(mark, Finished):
        if BlockKind.INTERVALS in kinds:
            raise MarkError("Intervals are scored by reps, not by time.", hint)
        if course.is_endless:
            raise MarkError("An AMRAP has no finishing time.", hint)
        if mark.seconds <= 0 or (mark.seconds * 100).denominator != 1:
            raise MarkError("A finishing time is more than 0, to a hundredth at the finest.", hint)
        if course.limit is not None and mark.seconds > course.limit:
            raise MarkError(
                f"{clock_text(mark.seconds)} is past the cap of {clock_text(course.limit)}.",
                "If the clock caught you, write how far you got: reps or a place.",
            )
        return
    if isinstance(mark, IntervalReps):
        _check_intervals(course, mark, hint)
        return
    if mark.reps < 0:
        raise MarkError("Reps cannot be negative.", hint)
    if BlockKind.INTERVALS in kinds and course.total is not None and mark.reps <= course.total:
        return
    try:
        course.place(mark.reps)
    except PlaceError as error:
        raise MarkError(str(error), hint) from None
    if course.total is not None and mark.reps == course.total:
        raise MarkError(
            "That is the whole course, so you finished it.",
            "Write your finishing time, such as "
            f"{clock_text(course.limit or 60)} if the clock stopped on your last rep.",
        )


def _check_intervals(course: Course, mark: IntervalReps, hint: str) -> None:
    block = course.blocks[0].block
    size = sum(line.raw_reps(line.count or 10_000) for line in block.lines)
    if not 1 <= len(mark.reps) <= block.rounds:
        raise MarkError(f"There are {block.rounds} intervals, you gave {len(mark.reps)}.", hint)
    for number, reps in enumerate(mark.reps, start=1):
        if not 0 <= reps <= size:
            raise MarkError(
                f"Interval {number} has {size} reps at the most; {reps} cannot be right.", hint
            )


def _place_text(course: Course, raw: int) -> str:
    place = course.place(raw)
    course_set = course.set_at(place.index)
    block = course.workout_block(course_set.block)
    round_text = str(course_set.round)
    if block.kind is BlockKind.LADDER:
        rung = block.rungs[course_set.round - 1]
        nth = block.rungs[: course_set.round].count(rung)
        round_text = f"{rung} #{nth}" if nth > 1 else str(rung)
    return (
        f"block {course_set.block} / {round_text} / {course_set.line.line.movement} / {place.reps}"
    )


def mark_text(course: Course, mark: Mark) -> str:
    """A mark as text that ``parse_mark`` reads back to the same mark.

    A place is named by its movement only where that is unambiguous; else by raw reps.
    """
    if isinstance(mark, Finished):
        cents = mark.seconds * 100 % 100
        whole = clock_text(int(mark.seconds))
        return whole + (f".{int(cents):02d}" if cents else "")
    if isinstance(mark, IntervalReps):
        return " / ".join(map(str, mark.reps))
    if isinstance(mark, Lifted):
        asked = course.blocks[0].block.reps or 1
        times = f" x {mark.reps}" if mark.reps != asked else ""
        return f"{decimal_text(mark.amount)} {mark.unit}{times}"
    if course.workout_block(1).kind is BlockKind.INTERVALS:
        return f"{mark.reps} reps"
    if course.tail and mark.reps >= course.amrap_start:
        rounds, reps = divmod(mark.reps - course.amrap_start, course.round_reps)
        return f"{rounds}+{reps}"
    if course.total is not None and mark.reps >= course.total:
        return f"{mark.reps} reps"
    course_set = course.set_at(course.place(mark.reps).index)
    names = [line.movement for line in course.workout_block(course_set.block).lines]
    if names.count(course_set.line.line.movement) > 1:
        return f"{mark.reps} reps"
    return _place_text(course, mark.reps)
