"""The course for a big screen: a row for each block, its bars as wide as their usual time.

A ladder shows all its rungs; rounds, intervals and AMRAPs show one round. What a row says
by its bars is said in words too.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from scoring.core.course import MAX_SET_REPS, Course, CourseBlock, CourseSet
from scoring.core.prescription import Block, BlockKind, clock_text

from .strip import set_words

WIDTH = 1840
LABEL = 280
ROW = 62
BAR = 52
LETTER = 16
"""Units a letter takes in the bars' type, on average a little less."""

MOST_ROWS, MOST_BARS = 6, 60


@dataclass(frozen=True, slots=True)
class RowBar:
    x: int
    width: int
    text: str
    text_x: int
    told: str


@dataclass(frozen=True, slots=True)
class BlockRow:
    """A block. ``y`` is where its bars begin, ``text_y`` its base line."""

    label: str
    y: int
    text_y: int
    bars: tuple[RowBar, ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """The picture, in units. ``more`` is how many blocks are not drawn."""

    width: int
    height: int
    bar: int
    rows: tuple[BlockRow, ...]
    told: str
    more: int


def course_rows(course: Course) -> Rows:
    """The rows of a course; a strength piece has no sets and no row."""
    timed = course if course.weighted else Course(course.workout, weighted=True)
    shown = [(block, _sets(timed, block)) for block in timed.blocks]
    shown = [(block, sets) for block, sets in shown if sets]
    rows = tuple(_row(n, block, sets) for n, (block, sets) in enumerate(shown[:MOST_ROWS]))
    told = " ".join(f"{r.label}: {', '.join(bar.told for bar in r.bars)}." for r in rows)
    more = max(0, len(shown) - MOST_ROWS)
    return Rows(WIDTH, ROW * len(rows), BAR, rows, told, more)


def _sets(course: Course, block: CourseBlock) -> list[CourseSet]:
    if block.block.kind is BlockKind.AMRAP:
        return list(course.tail)
    own = [s for s in course.sets if s.block == block.number]
    if not block.block.rungs:
        own = [s for s in own if s.round == 1]
    return own[:MOST_BARS]


def label(block: Block) -> str:
    """``18-12-6``, ``5 rounds of``, ``each round``, ``each 1:00``."""
    if block.rungs:
        scheme = "-".join(map(str, block.rungs))
        return scheme if len(scheme) <= LABEL // LETTER else f"{len(block.rungs)} rungs"
    if block.kind is BlockKind.AMRAP:
        return "each round"
    if block.kind is BlockKind.INTERVALS:
        return f"each {clock_text(block.seconds or 0)}"
    return f"{block.rounds} rounds of" if block.rounds > 1 else "once"


def _row(number: int, block: CourseBlock, sets: list[CourseSet]) -> BlockRow:
    sizes = [_seconds(s, sets, block.block) for s in sets]
    scale = (WIDTH - LABEL) / sum(sizes, Fraction(0))
    bars = []
    at = Fraction(LABEL)
    for course_set, size in zip(sets, sizes, strict=True):
        start, at = at, at + size * scale
        bars.append(_bar(course_set, round(start), round(at) - round(start)))
    y = number * ROW
    return BlockRow(label(block.block), y, y + BAR // 2 + 9, tuple(bars))


def _seconds(course_set: CourseSet, sets: list[CourseSet], block: Block) -> Fraction:
    """Usual seconds of a set, at least one; what is written max has the rest of its time."""
    if course_set.count != MAX_SET_REPS:
        return max(Fraction(1), Fraction(course_set.reps * course_set.line.weight, 10))
    others = sum((_seconds(s, sets, block) for s in sets if s.count != MAX_SET_REPS), Fraction(0))
    return max(Fraction(10), (block.seconds or 60) - others)


def _bar(course_set: CourseSet, x: int, width: int) -> RowBar:
    words = set_words(course_set)
    number = words.split(" ", 1)[0]
    text = next((t for t in (words, number) if len(t) * LETTER + 16 <= width), "")
    return RowBar(x, width, text, x + 9, words)
