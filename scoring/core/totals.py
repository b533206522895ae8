"""What a planned course asks for: reps by line, movement, pattern and side.

A course that ends asks for all of it. One that closes with an AMRAP, or has ``max`` sets,
has no such sum: there it is what the catalogue's usual seconds a rep (common practice, no
source), or a group's own speed against them, come to by the time the clock stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from . import catalogue
from .course import MAX_SET_REPS, Course, CourseLine, Place
from .prescription import BlockKind, Workout
from .reference import SAME, Reference

OWN = "the coach's own"
"""The pattern of a movement that the catalogue doesn't know."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Reps a plan asks for.

    Parameters
    ----------
    counts
        Raw reps of each course line, all of the work.
    reached
        The same by the time the clock stops, at the speed asked for.
    stopped
        The place where the clock stops that speed; ``None`` where it finishes, where
        there is no clock, and in intervals.
    seconds
        Usual seconds of the work that ends, its rests included: without the AMRAP, without
        ``max`` sets, and in intervals of one interval.
    takes
        The same at the speed asked for.
    is_guess
        Whether ``counts`` rest on the usual pace, as an AMRAP's do.
    """

    counts: tuple[int, ...]
    reached: tuple[int, ...]
    stopped: Place | None
    seconds: Fraction
    takes: Fraction
    is_guess: bool


def rep_seconds(line: CourseLine) -> Fraction:
    """Usual seconds of one rep of a line of a course that weighs reps."""
    return Fraction(line.weight, 10)


def asked(workout: Workout, speed: Fraction = SAME) -> Asked:
    """What a workout asks for.

    ``speed`` is a group's against the usual seconds, more than 0: at a half a rep takes
    twice as long.
    """
    course = Course(workout, weighted=True)
    kinds = [block.block.kind for block in course.blocks]
    if BlockKind.MAX_LOAD in kinds:
        reps = (course.blocks[0].block.reps or 1,)
        work = reps[0] * rep_seconds(course.lines[0])
        return Asked(reps, reps, None, work, work / speed, False)
    if BlockKind.INTERVALS in kinds:
        return _intervals(course, speed)
    counts = [0] * len(course.lines)
    for course_set in course.sets:
        counts[course_set.line.index] += course_set.reps
    rests = Fraction(sum(block.rest for block in course.blocks))
    work = sum((s.reps * rep_seconds(s.line) for s in course.sets), Fraction(0))
    reached, stopped = _reach(course, speed)
    all_of_it = reached if course.is_endless else tuple(counts)
    takes = work / speed + rests
    return Asked(all_of_it, reached, stopped, work + rests, takes, course.is_endless)


def _intervals(course: Course, speed: Fraction) -> Asked:
    block = course.blocks[0].block
    counts = [0] * len(course.lines)
    work, is_guess = Fraction(0), False
    for course_set in course.sets[: len(course.lines)]:
        each = rep_seconds(course_set.line)
        reps = course_set.reps
        if course_set.line.line.count is None:
            is_guess = True
            sides = 2 if course_set.line.line.per_side else 1
            left = max(Fraction(0), (block.seconds or 0) * speed - work)
            reps = int(left / each / sides) * sides
        else:
            work += reps * each
        counts[course_set.line.index] += reps * block.rounds
    return Asked(tuple(counts), tuple(counts), None, work, work / speed, is_guess)


def _reach(course: Course, speed: Fraction) -> tuple[tuple[int, ...], Place | None]:
    """Reps of each line by the time the clock stops, and the place where that is."""
    if course.limit is None:
        return (0,) * len(course.lines), None
    place = Reference(course).reached(Fraction(course.limit), speed)
    raw = course.raw(place)
    return course.line_reps(raw), None if raw == course.total else place


def pattern_of(movement: str) -> str:
    """The pattern of a movement by name."""
    known = catalogue.find(movement)
    return known.pattern.value if known else OWN


def by_movement(course: Course, counts: Sequence[int]) -> dict[str, int]:
    """Reps of each movement, the most first, from the reps of each line."""
    summed: dict[str, int] = {}
    for line, reps in zip(course.lines, counts, strict=True):
        summed[line.line.movement] = summed.get(line.line.movement, 0) + reps
    return most_first(summed)


def by_pattern(course: Course, counts: Sequence[int]) -> dict[str, int]:
    """Reps of each pattern, the most first."""
    summed: dict[str, int] = {}
    for line, reps in zip(course.lines, counts, strict=True):
        pattern = pattern_of(line.line.movement)
        summed[pattern] = summed.get(pattern, 0) + reps
    return most_first(summed)


def pattern_seconds(workout: Workout, speed: Fraction = SAME) -> dict[str, Fraction]:
    """Usual seconds of each pattern by the time the clock stops, the most first."""
    return seconds_by_pattern(workout, asked(workout, speed).reached)


def seconds_by_pattern(workout: Workout, reached: Sequence[int]) -> dict[str, Fraction]:
    """Usual seconds of each pattern in so many reps of each line."""
    course = Course(workout, weighted=True)
    summed: dict[str, Fraction] = {}
    for line, reps in zip(course.lines, reached, strict=True):
        pattern = pattern_of(line.line.movement)
        summed[pattern] = summed.get(pattern, Fraction(0)) + reps * rep_seconds(line)
    return dict(sorted(summed.items(), key=lambda pair: (-pair[1], pair[0])))


def most_first(counts: dict[str, int]) -> dict[str, int]:
    """The same counts, the most first, then by name."""
    return dict(sorted(counts.items(), key=lambda pair: (-pair[1], pair[0])))


@dataclass(frozen=True, slots=True)
class SideTotal:
    """Reps of a line on the side one starts with and on the other."""

    line: str
    movement: str
    starting: int
    other: int


def by_side(course: Course, counts: Sequence[int]) -> tuple[SideTotal, ...]:
    """Every line that has sides, in the course's order."""
    found = []
    for line, reps in zip(course.lines, counts, strict=True):
        known = catalogue.find(line.line.movement)
        if known and known.is_two_sided and not line.line.alternating:
            continue  # a sit-up has no sides, even where rounds take turns
        split = course.sides(line.index, reps) if reps else None
        if split:
            found.append(SideTotal(line.number, line.line.movement, *split))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class OddSet:
    """An alternating set of an odd number of reps: one side does one rep more.

    ``to_starting`` is true where that is the side the line was started with.
    """

    line: str
    movement: str
    where: str
    reps: int
    to_starting: bool


def odd_sets(course: Course) -> tuple[OddSet, ...]:
    """Where the odd reps of alternating sets go, in the course's order.

    An alternating movement goes on from set to set, so it takes its turn there too. Of a
    closing AMRAP the first round stands for all. What comes after a ``max`` set can't be told.
    """
    found = []
    for line in course.lines:
        if not line.line.alternating:
            continue
        done = 0
        for course_set in (*course.sets, *course.tail):
            if course_set.line.index != line.index:
                continue
            if course_set.count == MAX_SET_REPS:
                break
            if course_set.reps % 2:
                found.append(
                    OddSet(
                        line.number,
                        line.line.movement,
                        course.where(course_set),
                        course_set.reps,
                        done % 2 == 0,
                    )
                )
            done += course_set.reps
    return tuple(found)


def odd_words(course: Course) -> tuple[str, ...]:
    """``odd_sets`` in sentences, one for each line that has any."""
    said = []
    odd = odd_sets(course)
    for line in course.lines:
        own = [o for o in odd if o.line == line.number]
        if not own:
            continue
        name = line.line.movement
        if course.workout_block(line.block).kind is BlockKind.AMRAP:
            said.append(
                f"{own[0].reps} {name}, alternating: the side you start with gets the odd rep in "
                "round 1, the other side in round 2, and so on in turn."
            )
            continue
        parts = []
        for to_starting, side in ((True, "the side you start with"), (False, "the other side")):
            places = [_short(course, o) for o in own if o.to_starting is to_starting]
            if places:
                parts.append(f"{side} gets the odd rep in {_listed(places)}")
        said.append(f"{_line_name(own, name)}: {'; '.join(parts)}.")
    return tuple(said)


def _line_name(own: list[OddSet], name: str) -> str:
    sizes = {o.reps for o in own}
    count = f"{own[0].reps} " if len(sizes) == 1 else ""
    return f"{count}{name}, alternating"


def _short(course: Course, odd: OddSet) -> str:
    """The rung or round, without its block where the line's name says enough."""
    return odd.where.rpartition(", ")[2] if len(course.blocks) > 1 else odd.where


def _listed(words: list[str]) -> str:
    if len(words) > 6:
        return f"{', '.join(words[:5])} and {len(words) - 5} more"
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
