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
from scoring.core.drawing import Segment
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
LETTER = 6
"""How wide a letter is at most, to keep words inside."""
BEYOND = 2
"""So many times the cap are drawn at most: what lies further on nobody gets to."""

TYPICAL = "the typical member (level 100, everything as prescribed)"
TYPICAL_PRIOR = "the catalogue's pace (everything as prescribed)"


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
class Learned:
    """The typical member on a course, as its forecast has them: how long each set takes, where
    they stand at the cap (``None`` where they finish), and the end of all that ends; from no
    result but the catalogue's figures if ``is_prior``."""

    lengths: Callable[[CourseSet], Fraction]
    stopped: Place | None
    seconds: Fraction
    is_prior: bool = False

    @property
    def whose(self) -> str:
        """Whose pace is drawn."""
        return TYPICAL_PRIOR if self.is_prior else TYPICAL


@dataclass(frozen=True, slots=True)
class PlanPicture:
    """``cap`` and ``group`` are upright lines, empty where there is none;
    ``whose`` says whose pace it is, empty for the usual one; ``sentences`` tell all of it."""

    height: int
    bottom: int
    lanes: tuple[Lane, ...]
    ticks: tuple[Tick, ...]
    cap: Tick | None
    group: Tick | None
    told: str
    sentences: tuple[str, ...]
    whose: str = ""
    is_learned: bool = False


def plan_picture(
    course: Course, usual: Asked, group: Asked | None, learned: Learned | None = None
) -> PlanPicture | None:
    """The picture of a course; ``None`` where nothing is timed, as in a strength piece.

    ``usual`` and ``group`` are what the usual and the group's own speed come to, ``learned``
    what is drawn in place of both.
    """
    group_raw = None
    if group is not None and group.stopped is not None and group.stopped != usual.stopped:
        group_raw = course.raw(group.stopped)
    clock = clocked(course, group_raw, learned.lengths if learned else None)
    if not clock.stretches:
        return None
    if clock.is_interval:
        return _picture(course, clock, _interval_words(course, clock.stretches))
    if learned is None:
        at, whose = "at the usual pace it is", "the usual pace"
    else:
        usual = replace(usual, stopped=learned.stopped, seconds=learned.seconds)
        at, whose = f"{learned.whose} is", learned.whose
    words = _words(course, clock, usual, at[0].upper() + at[1:], whose)
    picture = _picture(course, clock, words)
    return replace(
        picture,
        whose=learned.whose if learned else "",
        is_learned=learned is not None and not learned.is_prior,
    )


def _end(clock: Clocked) -> Fraction:
    """How far the drawing goes."""
    last, cap = clock.stretches[-1].end, Fraction(clock.stops or 0)
    return min(max(last, cap), cap * BEYOND) if cap else last


def _picture(course: Course, clock: Clocked, sentences: tuple[str, ...]) -> PlanPicture:
    cap, end = clock.stops or 0, _end(clock)
    stretches = [s for s in clock.stretches if s.start < end]
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
    x, half = _x(seconds, end), LETTER * len(text) / 2
    anchor = "start" if x < half else "end" if x > WIDTH - half else "middle"
    return Tick(f"{x:.1f}", text, anchor)


def _bar(course: Course, stretch: Segment, y: int, end: Fraction, cap: int) -> Bar:
    assert stretch.course_set is not None
    x = _x(stretch.start, end)
    width = max(1.5, _x(min(stretch.end, end), end) - x)
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


def _words(course: Course, clock: Clocked, usual: Asked, at: str, whose: str) -> tuple[str, ...]:
    """Each block with its times, then where the cap lies: ``at`` and ``whose`` begin and end
    that."""
    end = _end(clock)
    said = []
    for number, grouped in groupby(clock.stretches, key=lambda s: s.block):
        own = [s for s in grouped if s.course_set is not None and s.start < end]
        if own:
            said.append(_block_words(course, number, own, end))
    if course.limit and usual.stopped is None:
        left = course.limit - usual.seconds
        said.append(
            f"{at} done at {_clock(usual.seconds)}, "
            f"{_clock(left)} before the cap of {clock_text(course.limit)}."
        )
    elif course.limit and usual.stopped is not None:
        said.append(
            f"The cap of {clock_text(course.limit)} stops {whose} at "
            f"{course.describe(usual.stopped)}."
        )
    if clock.stretches[-1].end > end:
        said.append(f"What would come after {clock_text(int(end))} is not drawn.")
    return tuple(said)


def _block_words(course: Course, number: int, own: Sequence[Segment], end: Fraction) -> str:
    title = block_title(course, course.blocks[number - 1])
    start = _clock(own[0].start)
    if course.workout_block(number).kind is BlockKind.AMRAP:
        one = sum((s.seconds for s in own if s.round == 1), Fraction(0))
        return f"{title}: from {start}, a round takes {_clock(one)}."
    if own[-1].end > end:
        return f"{title}: from {start}, and on after {clock_text(int(end))}."
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
