"""Where a group should be when the clock stops: columns along the course, counted in reps.

The axis is reps of the course and no clock. Who finishes stands in a column of their own at
its end. What the picture says is said in its label too.
"""

from __future__ import annotations

from dataclasses import dataclass

from scoring.core.course import Course
from scoring.core.estimation.forecast import Forecast
from scoring.core.prescription import clock_text

WIDTH = 360
EDGE = 14
DONE = 44
"""Room for the column of those who finish."""

TOP = 34
TALLEST = 60
HEIGHT = TOP + TALLEST + 40
COLUMNS = 40
TICKS = 6
LETTER = 6
STEPS = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class Column:
    """A stretch of the course; ``told`` says how many should be there."""

    x: str
    width: str
    y: str
    height: str
    told: str


@dataclass(frozen=True, slots=True)
class Tick:
    x: str
    text: str
    anchor: str = "middle"


@dataclass(frozen=True, slots=True)
class PlacesPicture:
    """``ticks`` are reps under the axis, ``ends`` the ends of blocks above it; ``title`` says
    what it is, ``told`` all that it shows."""

    height: int
    floor: int
    columns: tuple[Column, ...]
    ticks: tuple[Tick, ...]
    ends: tuple[Tick, ...]
    title: str
    told: str


def places_picture(course: Course, told: Forecast) -> PlacesPicture | None:
    """The picture of a group's forecast; ``None`` for nobody."""
    at, counts = (values.tolist() for values in told.shares())
    if not at:
        return None
    total = course.total
    reach = (total or at[-1]) or 1
    right = WIDTH - EDGE - (DONE if total is not None else 0)
    step = _step(reach)
    places = [(raw, count) for raw, count in zip(at, counts, strict=True) if raw != total]
    finished = sum(count for raw, count in zip(at, counts, strict=True) if raw == total)
    heaps = _heaps(places, reach)
    tallest = max([finished, *(count for _, _, count in heaps)])

    def x(raw: float) -> float:
        return EDGE + raw / reach * (right - EDGE)

    columns = [
        _column(x(first), min(right, x(last + 1)), count, tallest, f"{first:,} to {last:,} reps")
        for first, last, count in heaps
    ]
    if finished:
        columns.append(_column(right + 10, WIDTH - EDGE, finished, tallest, "finished"))
    title = f"Places when the clock stops at {clock_text(told.cap)}"
    ticks = [Tick(f"{x(n):.1f}", f"{n:,}") for n in range(0, reach + 1, step)]
    if total is not None:
        if x(total) - float(ticks[-1].x) < 4 * LETTER and len(ticks) > 1:
            ticks.pop()
        ticks.append(Tick(f"{(right + 10 + WIDTH - EDGE) / 2:.1f}", "finish"))
    return PlacesPicture(
        height=HEIGHT,
        floor=TOP + TALLEST,
        columns=tuple(c for c in columns if float(c.height) >= 0.5),
        ticks=tuple(ticks),
        ends=_ends(course, reach, x(1) - x(0)),
        title=title,
        told=f"{title}, along the course by reps. {_told(places, finished, step)}",
    )


def _step(reach: int) -> int:
    """Reps between two ticks: 1, 2 or 5 and noughts."""
    size = 1
    while True:
        for step in STEPS:
            if reach / (step * size) <= TICKS:
                return step * size
        size *= 10


def _heaps(places: list[tuple[int, float]], reach: int) -> list[tuple[int, int, float]]:
    """Stretches of equal length with the members expected in each: first and last rep."""
    width = -(-(reach + 1) // COLUMNS)
    heaps: dict[int, float] = {}
    for raw, count in places:
        heaps[raw // width] = heaps.get(raw // width, 0.0) + count
    return [
        (number * width, min(reach, (number + 1) * width - 1) if width > 1 else number, count)
        for number, count in sorted(heaps.items())
    ]


def _column(left: float, right: float, count: float, tallest: float, where: str) -> Column:
    tall = TALLEST * count / tallest if tallest else 0.0
    return Column(
        x=f"{left:.1f}",
        width=f"{max(2.0, right - left - 1):.1f}",
        y=f"{TOP + TALLEST - tall:.1f}",
        height=f"{tall:.1f}",
        told=f"{where}: {_members(count)}",
    )


def _members(count: float) -> str:
    whole = round(count)
    if not whole:
        return "less than 1 member" if count else "nobody"
    return f"about {whole} member{'' if whole == 1 else 's'}"


def _ends(course: Course, reach: int, scale: float) -> tuple[Tick, ...]:
    """The ends of blocks on the axis, each with its name where there is room for it."""
    found: list[Tick] = []
    free = 0.0
    for block in course.blocks[:-1]:
        end = course.block_end(block.number)
        if end > reach:
            break
        at, name = EDGE + end * scale, f"end of block {block.number}"
        half = LETTER * len(name) / 2
        left = min(max(at - half, 0.0), WIDTH - 2 * half)
        text = name if left >= free else ""
        free = left + 2 * half + LETTER if text else free
        anchor = "start" if at < half else "end" if at > WIDTH - half else "middle"
        found.append(Tick(f"{at:.1f}", text, anchor))
    return tuple(found)


def _told(places: list[tuple[int, float]], finished: float, step: int) -> str:
    """How many in each stretch between two ticks."""
    counts: dict[int, float] = {}
    for raw, count in places:
        counts[raw // step] = counts.get(raw // step, 0.0) + count
    said = [
        f"{number * step:,} to {(number + 1) * step - 1:,} reps: {_members(count)}"
        for number, count in sorted(counts.items())
        if count >= 0.5
    ]
    if finished >= 0.5:
        said.append(f"finished: {_members(finished)}")
    return f"{'; '.join(said)}." if said else ""
