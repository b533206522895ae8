"""The scale that a crowd is drawn along, from the top of the picture down.

A course is drawn by its reference seconds, or those that a gym's results have taught, and
whoever finished stands beyond its end, as many seconds as were left on the clock. Intervals
are drawn by reps, a lift by kilograms.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from scoring.core.course import Course, CourseSet
from scoring.core.crowd import Stop, is_course
from scoring.core.drawing import Drawing, Segment
from scoring.core.prescription import BlockKind, clock_text

from .strip import block_title, set_words

BANDS = 10
"""About how many bands a scale without a course has."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A set, a rest, a round number of reps or kilograms, a minute beyond the end.

    ``group`` is the rung or round it belongs to; ``first`` says that a group begins here,
    ``title`` is of the block that begins here. ``label`` is short, ``told`` whole.
    """

    start: float
    end: float
    group: str
    label: str
    is_first: bool = True
    title: str = ""
    is_quiet: bool = False


@dataclass(frozen=True, slots=True)
class Scale:
    """Stretches in order, and everybody's place in the unit they are in."""

    stretches: tuple[Stretch, ...]
    places: tuple[float, ...]
    unit: str
    is_reference: bool

    @property
    def length(self) -> float:
        return self.stretches[-1].end

    @property
    def start(self) -> float:
        return self.stretches[0].start


def scale_of(
    course: Course,
    stops: Sequence[Stop],
    lengths: Callable[[CourseSet], Fraction] | None = None,
) -> Scale:
    """The scale of a class, with the places of ``stops`` in the order given; ``lengths`` says
    how long a set takes where results have taught it."""
    if is_course(course):
        return _by_seconds(course, stops, lengths)
    values = [float(stop.amount) for stop in stops]
    is_lift = course.workout_block(1).kind is BlockKind.MAX_LOAD
    unit = "kg" if is_lift else "reps"
    size = _nice((max(values, default=0) - min(values, default=0)) or 10)
    first = int(min(values, default=0) // size)
    last = int(max(values, default=0) // size) + 1
    bands = [
        Stretch(size * n, size * (n + 1), "", f"{_plain(size * n)} {unit}")
        for n in range(first, last)
    ]
    return Scale(tuple(bands), tuple(values), unit, is_reference=False)


def _nice(span: float) -> float:
    """A round size of about a tenth of the span."""
    for power in (0.1, 1, 10, 100, 1000, 10_000, 100_000):
        for digit in (1, 2, 5):
            if span / (digit * power) <= BANDS:
                return digit * power
    return span / BANDS


def _plain(value: float) -> str:
    return f"{value:.6g}"


def _by_seconds(
    course: Course,
    stops: Sequence[Stop],
    lengths: Callable[[CourseSet], Fraction] | None,
) -> Scale:
    caught = [int(stop.amount) for stop in stops if stop.seconds is None]
    drawing = Drawing(course, max(caught, default=0), lengths)
    limit, end = float(course.limit or 0), float(drawing.length)
    places = [
        end + limit - float(stop.seconds)
        if stop.seconds is not None
        else float(drawing.at(int(stop.amount)))
        for stop in stops
    ]
    stretches = _course(course, drawing)
    left = [limit - float(stop.seconds) for stop in stops if stop.seconds is not None]
    if left:
        # Minutes between the clock's stop and the slowest finisher would only be empty.
        skipped = min(left) // 60 * 60 if len(left) == len(stops) else 0.0
        places = [place - skipped if place > end else place for place in places]
        stretches += _beyond(end, limit - skipped, max(left) - skipped)
    unit = "seconds learned here" if lengths else "reference seconds"
    return Scale(tuple(stretches), tuple(places), unit, is_reference=True)


def _course(course: Course, drawing: Drawing) -> list[Stretch]:
    """The sets of a course; each rung or round and each block says where it begins."""
    found: list[Stretch] = []
    block, group = 0, (0, 0)
    for segment in drawing.segments:
        start, end = float(segment.start), float(segment.end)
        if segment.course_set is None:
            found.append(Stretch(start, end, "", "rest", is_quiet=True))
            continue
        number = segment.block
        title = block_title(course, course.blocks[number - 1]) if number != block else ""
        is_first = (number, segment.round) != group
        block, group = number, (number, segment.round)
        words = set_words(segment.course_set).removesuffix(", other side")
        found.append(Stretch(start, end, _group(course, segment), words, is_first, title))
    return found


def _group(course: Course, segment: Segment) -> str:
    """``18`` for a rung, ``r2`` for a round; nothing where there is only one."""
    block = course.workout_block(segment.block)
    if block.rungs:
        return str(block.rungs[segment.round - 1])
    return "" if block.for_time else f"r{segment.round}"


def _beyond(end: float, first: float, span: float) -> list[Stretch]:
    """Minutes after the end, from the time ``first`` down: who finished, by their time."""
    minute = 60.0 * max(1, round(span / 60 / BANDS))
    found = []
    start = 0.0
    while start <= span:
        label = clock_text(round(first - start))
        title = "" if start else "Finished, by their time"
        found.append(Stretch(end + start, end + start + minute, "", label, title=title))
        start += minute
    return found
