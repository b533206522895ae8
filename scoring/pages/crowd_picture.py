"""Everybody's place on the course as one picture that runs down the page.

As prescribed is a filled dot, scaled an open diamond. Where the dots of a line would not
fit beside each other, the line says how many of each there are. Who can't see or point
reads the same in the table of everybody.

One wild mark must not press all others together: marks that are asked about and lie beyond
everybody else's stand on a line of their own at the edge.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from scoring.core.course import Course, CourseSet
from scoring.core.swarm import Line, steps
from scoring.selectors.review_rows import Row

from .crowd_scale import Scale, Stretch, scale_of

WIDTH = 360
LINE = 13
"""Height of a line of dots; so many pixels of the scale share it."""
LEFT = 152
RIGHT = 318
DOT = 11
FIT = (RIGHT - LEFT) // DOT
TALLEST, SHORTEST, MOST_PIXELS = 1000, 260, 1.1
"""Of a picture, and of a second of a course."""

PLAIN = 420
"""The height of a scale without a course."""

TITLE = 18
"""What a block's title takes above its first set."""
LETTERS = 18

ASKED = "; farther than this picture, and a question about it is open"


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch as drawn: its rectangle and the words that had room."""

    y: int
    height: int
    text_y: int
    group: str
    label: str
    title: str
    title_y: int
    is_quiet: bool


@dataclass(frozen=True, slots=True)
class Dot:
    """One member; ``points`` are the corners of a diamond, empty for a dot."""

    x: int
    y: int
    points: str
    result_id: int
    told: str


@dataclass(frozen=True, slots=True)
class Heap:
    """A line too full for dots: how many of each kind."""

    y: int
    text_y: int
    prescribed: int
    scaled: int
    points: str
    scaled_x: int
    result_id: int
    told: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A quarter, the half or three quarters of the class had got no further: a line from
    behind the dots, at ``x``, to its label."""

    x: int
    y: int
    text_y: int
    label: str


@dataclass(frozen=True, slots=True)
class Edge:
    """The line of the marks that are asked about and lie beyond the picture."""

    y: int
    text_x: int
    text_y: int
    label: str


@dataclass(frozen=True, slots=True)
class Picture:
    width: int
    height: int
    left: int
    right: int
    bands: tuple[Band, ...]
    dots: tuple[Dot, ...]
    heaps: tuple[Heap, ...]
    marks: tuple[Mark, ...]
    per_line: str
    is_reference: bool
    edge: Edge | None


class _Drawing:
    """From a place on the scale to a height in the picture."""

    def __init__(self, scale: Scale) -> None:
        self.scale = scale
        span = (scale.length - scale.start) or 1
        pixels = min(TALLEST / span, MOST_PIXELS) if scale.is_reference else PLAIN / span
        self.pixels = max(pixels, SHORTEST / span)
        self.tops: list[float] = []
        y = 4.0
        for stretch in scale.stretches:
            y += TITLE if stretch.title else 0
            self.tops.append(y)
            y += (stretch.end - stretch.start) * self.pixels
        self.height = y + 8

    def y(self, place: float) -> float:
        """The height of a place; a stretch's end is the next one's beginning."""
        stretches = self.scale.stretches
        at = 0
        for index, stretch in enumerate(stretches):
            if stretch.start <= place:
                at = index
        return self.tops[at] + (place - stretches[at].start) * self.pixels


def picture(
    course: Course,
    rows: Sequence[Row],
    quarters: Sequence[tuple[str, Row]],
    lengths: Callable[[CourseSet], Fraction] | None = None,
    asked: Collection[int] = (),
) -> Picture:
    """The picture of everybody in ``rows``; ``quarters`` are labels and whose place they are,
    ``lengths`` how long a set takes where that was learned, ``asked`` the results whose mark
    a question is open about."""
    beyond = _beyond(rows, asked)
    within = [row for row in rows if row.result_id not in beyond]
    scale = scale_of(course, [row.stop for row in within], lengths)
    drawing = _Drawing(scale)
    heights = [drawing.y(place) for place in scale.places]
    lines = steps(heights, LINE, int(drawing.height // LINE) + 1)
    dots: list[Dot] = []
    heaps: list[Heap] = []
    for line in lines:
        there = sorted(
            (within[index] for index in line.members),
            key=lambda row: (not row.stop.prescribed, row.name.casefold()),
        )
        if len(there) > FIT:
            heaps.append(_heap(line, there))
        else:
            dots += [_dot(line, position, row) for position, row in enumerate(there)]
    ends = {line.step: _end(len(line.members)) for line in lines}
    at = {row.score.pk: height for row, height in zip(within, heights, strict=True)}
    height, edge = drawing.height, None
    if beyond:
        step = int(height // LINE) + 1
        there = [row for row in rows if row.result_id in beyond][: FIT // 2]
        last = Line(step, tuple(range(len(there))))
        dots += [_dot(last, position, row, ASKED) for position, row in enumerate(there)]
        y, height = step * LINE + LINE // 2, (step + 1) * LINE + 4
        edge = Edge(y, LEFT + 12 + len(there) * DOT, y + 4, f"{len(beyond)} farther: asked")
    return Picture(
        width=WIDTH,
        height=round(height),
        left=LEFT,
        right=RIGHT,
        bands=tuple(_bands(drawing, scale.stretches)),
        dots=tuple(dots),
        heaps=tuple(heaps),
        marks=tuple(
            _marks(
                [(label, at[row.score.pk]) for label, row in quarters if row.score.pk in at], ends
            )
        ),
        per_line=f"{round(LINE / drawing.pixels)} {scale.unit}"
        if scale.is_reference
        else f"{LINE / drawing.pixels:.2g} {scale.unit}",
        is_reference=scale.is_reference,
        edge=edge,
    )


def _beyond(rows: Sequence[Row], asked: Collection[int]) -> set[int]:
    """Results that are asked about and got farther than everybody who isn't."""
    sure = [row.stop.order for row in rows if row.result_id not in asked]
    if not sure:
        return set()
    farthest = max(sure)
    return {row.result_id for row in rows if row.stop.order > farthest}


def _end(count: int) -> int:
    """Where the dots, or the counts, of a line end."""
    return LEFT + (100 if count > FIT else 8 + count * DOT)


def _bands(drawing: _Drawing, stretches: Sequence[Stretch]) -> list[Band]:
    """Rectangles of all stretches; words only where the ones before leave room."""
    bands = []
    group_end = label_end = 0.0
    for stretch, top in zip(stretches, drawing.tops, strict=True):
        height = (stretch.end - stretch.start) * drawing.pixels
        label, group = "", ""
        if height >= LINE - 1 and top >= label_end:
            label, label_end = _short(stretch.label), top + LINE
        if stretch.is_first and stretch.group and top >= group_end:
            group, group_end = stretch.group, top + LINE
        bands.append(
            Band(
                y=round(top),
                height=max(1, round(top + height) - round(top)),
                text_y=round(top) + 11,
                group=group,
                label=label,
                title=stretch.title,
                title_y=round(top) - 5,
                is_quiet=stretch.is_quiet,
            )
        )
    return bands


def _short(label: str) -> str:
    return label if len(label) <= LETTERS else label[: LETTERS - 1].rstrip() + "…"


def _diamond(x: int, y: int) -> str:
    return f"{x},{y - 5} {x + 5},{y} {x},{y + 5} {x - 5},{y}"


def _dot(line: Line, position: int, row: Row, more: str = "") -> Dot:
    x, y = LEFT + 8 + position * DOT, line.step * LINE + LINE // 2
    how = "as prescribed" if row.stop.prescribed else "scaled"
    points = "" if row.stop.prescribed else _diamond(x, y)
    return Dot(x, y, points, row.result_id, f"{row.name}: {row.place}, {how}{more}")


def _heap(line: Line, there: Sequence[Row]) -> Heap:
    y = line.step * LINE + LINE // 2
    prescribed = sum(row.stop.prescribed for row in there)
    scaled = len(there) - prescribed
    scaled_x = LEFT + 52 if prescribed else LEFT + 8
    return Heap(
        y=y,
        text_y=y + 4,
        prescribed=prescribed,
        scaled=scaled,
        points=_diamond(scaled_x, y),
        scaled_x=scaled_x,
        result_id=there[0].result_id,
        told=f"{len(there)} members here: {prescribed} as prescribed, {scaled} scaled",
    )


def _marks(found: Sequence[tuple[str, float]], ends: Mapping[int, int]) -> list[Mark]:
    """Lines with their words; those of one line of dots share one."""
    marks: list[Mark] = []
    for label, height in found:
        step = int(height // LINE)
        y = step * LINE + LINE // 2
        if marks and y == marks[-1].y:
            label = f"{marks.pop().label} {label}"
        marks.append(Mark(min(RIGHT - 6, ends.get(step, LEFT)), y, y + 4, label))
    return marks
