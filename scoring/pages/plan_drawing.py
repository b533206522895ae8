"""A planned course as a picture to scale by time: a lane for each movement, a bar for each set.

The clock runs from left to right by the catalogue's usual seconds; the cap is an upright
line. What the picture says is said in sentences too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from scoring.core.course import MAX_SET_REPS, Course, CourseSet, Place
from scoring.core.drawing import Drawing, Segment
from scoring.core.pacing import rough
from scoring.core.prescription import BlockKind, clock_text
from scoring.core.stretches import Clocked, clocked
from scoring.core.totals import Asked

from .strip import block_title, set_words

WIDTH = 360
EDGE = 12
SCALE = WIDTH - 2 * EDGE
TOP = 38
LANE = 36
BAR = 14
MOST_LANES = 12
STEPS = (10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)
TICKS = 6
COLUMNS = 48
TALLEST = 34


@dataclass(frozen=True, slots=True)
class Bar:
    x: str
    width: str
    y: int
    kind: str
    told: str


@dataclass(frozen=True, slots=True)
class Lane:
    name: str
    y: int
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Tick:
    x: str
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Heap:
    """How many of a group should be at a stretch of the course when the clock stops."""

    x: str
    width: str
    y: str
    height: str


@dataclass(frozen=True, slots=True)
class Learned:
    """What results taught of a course: how long each set takes the typical member, where they
    stand at the cap (``None`` where they finish), and the end of all that ends."""

    lengths: Callable[[CourseSet], Fraction]
    stopped: Place | None
    seconds: Fraction


@dataclass(frozen=True, slots=True)
class PlanPicture:
    """``cap`` and ``group`` are upright lines, empty where there is none; ``heaps`` stand on
    a line of their own under the lanes; ``sentences`` tell all of it."""

    height: int
    bottom: int
    lanes: tuple[Lane, ...]
    ticks: tuple[Tick, ...]
    cap: Tick | None
    group: Tick | None
    told: str
    sentences: tuple[str, ...]
    heaps: tuple[Heap, ...] = ()
    heaps_y: int = 0
    is_learned: bool = False


def plan_picture(
    course: Course,
    usual: Asked,
    group: Asked | None,
    learned: Learned | None = None,
    places: Sequence[tuple[int, float]] = (),
) -> PlanPicture | None:
    """The picture of a course; ``None`` where nothing is timed, as in a strength piece.

    ``usual`` and ``group`` are what the usual and the group's own speed come to, ``learned``
    what is drawn in place of the usual one; ``places`` are raw reps at which members should
    be when the clock stops, and how many.
    """
    group_raw = None
    if group is not None and group.stopped is not None and group.stopped != usual.stopped:
        group_raw = course.raw(group.stopped)
    furthest = max((raw for raw, _ in places), default=0)
    clock = clocked(course, group_raw, learned.lengths if learned else None)
    if not clock.stretches:
        return None
    if clock.is_interval:
        return _picture(course, clock, _interval_words(course, clock.stretches))
    drawing = Drawing(course, furthest, learned.lengths if learned else None)
    clock = replace(clock, stretches=drawing.segments)
    if learned:
        usual = replace(usual, stopped=learned.stopped, seconds=learned.seconds)
    whose = "the typical pace here" if learned else "the usual pace"
    picture = _picture(course, clock, _words(course, clock.stretches, usual, whose))
    picture = replace(picture, is_learned=learned is not None)
    return _with_heaps(picture, drawing, places) if places else picture


def _with_heaps(
    picture: PlanPicture, drawing: Drawing, places: Sequence[tuple[int, float]]
) -> PlanPicture:
    """Room under the lanes, and on it a column for each stretch with somebody in it."""
    end = max(drawing.length, Fraction(drawing.limit or 0))
    counts = [0.0] * COLUMNS
    for raw, count in places:
        counts[min(COLUMNS - 1, int(drawing.at(raw) / end * COLUMNS))] += count
    top = picture.bottom
    floor = top + 14 + TALLEST
    wide = SCALE / COLUMNS
    most = max(counts)
    heaps = []
    for number, count in enumerate(counts):
        tall = TALLEST * count / most
        if tall >= 0.5:
            x = EDGE + number * wide
            heaps.append(Heap(f"{x:.1f}", f"{wide - 1:.1f}", f"{floor - tall:.1f}", f"{tall:.1f}"))
    bottom = floor + 4
    return replace(picture, bottom=bottom, height=bottom + 24, heaps=tuple(heaps), heaps_y=top + 9)


def _picture(course: Course, clock: Clocked, sentences: tuple[str, ...]) -> PlanPicture:
    stretches, cap = clock.stretches, clock.stops or 0
    end = max(stretches[-1].end, Fraction(cap))
    names = list(dict.fromkeys(s.course_set.line.line.movement for s in stretches if s.course_set))
    lanes = []
    for number, name in enumerate(names[:MOST_LANES]):
        y = TOP + number * LANE
        bars = tuple(
            _bar(course, s, y + 18, end, cap)
            for s in stretches
            if s.course_set and s.course_set.line.line.movement == name
        )
        lanes.append(Lane(name, y + 13, bars))
    bottom = TOP + len(lanes) * LANE + 4
    what = "interval ends" if clock.is_interval else "cap"
    more = len(names) - MOST_LANES
    not_drawn = f" and {more} more, which are not drawn" if more > 0 else ""
    told = (
        f"The course by time, a lane for each movement: {', '.join(names[:MOST_LANES])}"
        f"{not_drawn}. {' '.join(sentences)}"
    )
    return PlanPicture(
        height=bottom + 24,
        bottom=bottom,
        lanes=tuple(lanes),
        ticks=_ticks(end),
        cap=_tick(Fraction(cap), end, f"{what} {clock_text(cap)}") if cap else None,
        group=_tick(clock.group, end, "this group") if clock.group is not None else None,
        told=told,
        sentences=sentences,
    )


def _x(seconds: Fraction | int, end: Fraction) -> float:
    return EDGE + float(seconds / end) * SCALE if end else EDGE


def _tick(seconds: Fraction, end: Fraction, text: str) -> Tick:
    x = _x(seconds, end)
    anchor = "start" if x < 60 else "end" if x > WIDTH - 60 else "middle"
    return Tick(f"{x:.1f}", text, anchor)


def _bar(course: Course, stretch: Segment, y: int, end: Fraction, cap: int) -> Bar:
    assert stretch.course_set is not None
    x = _x(stretch.start, end)
    width = max(1.5, _x(stretch.end, end) - x)
    kind = "late" if cap and stretch.start >= cap else "work"
    span = f"{clock_text(int(stretch.start))} to {clock_text(int(stretch.end))}"
    told = f"{course.where(stretch.course_set)}: {set_words(stretch.course_set)}, {span}"
    return Bar(f"{x:.1f}", f"{width:.1f}", y, kind, told)


def _ticks(end: Fraction) -> tuple[Tick, ...]:
    step = next((s for s in STEPS if end / s <= TICKS), STEPS[-1])
    while end / step > TICKS:
        step *= 2
    return tuple(
        _tick(Fraction(n * step), end, clock_text(n * step)) for n in range(int(end / step) + 1)
    )


def _words(
    course: Course, stretches: Sequence[Segment], usual: Asked, whose: str
) -> tuple[str, ...]:
    """Each block with its times, then where the cap lies."""
    said = []
    for number, grouped in groupby(stretches, key=lambda s: s.block):
        own = [s for s in grouped if s.course_set is not None]
        if own:
            said.append(_block_words(course, number, own))
    if course.limit and usual.stopped is None:
        left = course.limit - usual.seconds
        said.append(
            f"At {whose} it is done at {_clock(usual.seconds)}, "
            f"{_clock(left)} before the cap of {clock_text(course.limit)}."
        )
    elif course.limit and usual.stopped is not None:
        said.append(
            f"The cap of {clock_text(course.limit)} stops {whose} at "
            f"{course.describe(usual.stopped)}."
        )
    return tuple(said)


def _block_words(course: Course, number: int, own: Sequence[Segment]) -> str:
    title = block_title(course, course.blocks[number - 1])
    start = _clock(own[0].start)
    if course.workout_block(number).kind is BlockKind.AMRAP:
        one = sum((s.seconds for s in own if s.round == 1), Fraction(0))
        return f"{title}: from {start}, a round takes {_clock(one)}."
    return f"{title}: {start} to {_clock(own[-1].end)}."


def _interval_words(course: Course, stretches: Sequence[Segment]) -> tuple[str, ...]:
    block = course.blocks[0].block
    length = clock_text(block.seconds or 0)
    parts = [
        set_words(s.course_set) + ("" if _is_max(s) else f" {_clock(s.end - s.start)}")
        for s in stretches
        if s.course_set
    ]
    left = (block.seconds or 0) - stretches[-1].end
    rest = f", {_clock(left)} left" if left > 0 else ""
    return (f"One of {block.rounds} intervals of {length}: {', '.join(parts)}{rest}.",)


def _is_max(stretch: Segment) -> bool:
    return stretch.course_set is not None and stretch.course_set.count == MAX_SET_REPS


def _clock(seconds: Fraction) -> str:
    """A rough time, as it should look: to the nearest second under a minute, else to ten."""
    return clock_text(round(seconds) if seconds < 60 else rough(seconds))
