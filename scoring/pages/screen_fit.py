"""What fits on a screen of 1920 × 1080, and in how large a type.

Lengths are estimated, since no browser is asked: a letter is taken a little wider than it is
on average, so that what is said to fit does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import ceil

from scoring.selectors.briefing import Offered, Standard

from .course_rows import Rows

WIDE, TALL = 1920, 1080
SIZES = (52, 46, 42, 38, 34, 31, 28)
"""Type sizes, in pixels of a full screen; style.css has a class for each."""

LARGER = (150, 135, 120, 110, 100)
"""How much larger than the rest the board is set where there is room, in percent."""

LEADING = 1.3
LETTER, BOARD_LETTER = 0.53, 0.62
EDGES, ABOVE = 60, 50
SMALL = 0.85
"""Standards beside the board are set smaller, by this much."""

BOARD_SHARE = 0.44
QR, WAY = 240, 64
"""Pixels of the link's picture, and of the line below it with the way between steps."""


@dataclass(frozen=True, slots=True)
class Step:
    """One screen. ``size`` is one of ``SIZES``; what it doesn't show is empty. ``board`` is
    the size of the board's type in percent of the rest, one of ``LARGER``."""

    size: int
    has_board: bool
    offered: tuple[Offered, ...]
    standards: tuple[Standard, ...]
    board: int = 100


@dataclass(frozen=True, slots=True)
class Briefed:
    """All that a screen may show; ``board`` are lines."""

    title: str
    board: tuple[str, ...]
    offered: tuple[Offered, ...]
    standards: tuple[Standard, ...]
    rows: Rows
    foot: str


def option_text(row: Offered) -> str:
    return f"{row.option} in place of {row.movement}: {row.credit}"


def standard_text(row: Standard) -> str:
    return f"{row.name}: {row.standard}"


def lines(text: str, ems: float, letter: float = LETTER) -> int:
    """How many lines a text takes in so wide a column."""
    return max(1, ceil(len(text) * letter / ems))


def whole(told: Briefed) -> Step | None:
    """Everything on one screen in the largest type that fits; ``None`` if none does."""
    for size in SIZES:
        wide = (WIDE - EDGES * 2) / size
        room = _room(told, size, wide)
        right = _listed(told.offered, told.standards, wide * (1 - BOARD_SHARE) - 1)
        for percent in LARGER:
            larger = percent / 100
            left = larger * _board(told, wide * BOARD_SHARE / larger)
            if max(left, right) <= room:
                return Step(size, True, told.offered, told.standards, percent)
    return None


def steps(told: Briefed) -> list[Step]:
    """The same in steps, each in the largest type that fits: the board, then the options and
    the standards, as few at a time as need be."""
    return [_board_step(told), *_chunks(told)]


def _board_step(told: Briefed) -> Step:
    for size in SIZES:
        wide = (WIDE - EDGES * 2) / size
        if _two_columns(told, wide / 2 - 1) <= _room(told, size, wide):
            return Step(size, True, (), ())
    return Step(SIZES[-1], True, (), ())


def _chunks(told: Briefed, size: int = 42) -> list[Step]:
    wide = (WIDE - EDGES * 2) / size
    room = (TALL - ABOVE * 2) / size - _head(told, wide) - _foot(told, size, wide, None)
    found: list[Step] = []
    options: list[Offered] = []
    standards: list[Standard] = []
    for kind, row in [
        *(("option", row) for row in told.offered),
        *(("standard", row) for row in told.standards),
    ]:
        before = (tuple(options), tuple(standards))
        (options if kind == "option" else standards).append(row)  # type: ignore[arg-type]
        taken = _listed(options, standards, wide / SMALL) / SMALL
        if taken > room and any(before):
            found.append(Step(size, False, *before))
            options, standards = ([row], []) if kind == "option" else ([], [row])  # type: ignore[list-item]
    if options or standards:
        found.append(Step(size, False, tuple(options), tuple(standards)))
    return found


def blocks(board: Sequence[str]) -> list[list[str]]:
    """The board's lines by block."""
    return [list(block) for is_text, block in groupby(board, key=bool) if is_text]


def _block(block: Sequence[str], wide: float) -> float:
    return sum(LEADING * lines(line, wide, BOARD_LETTER) for line in block) + 0.5


def _board(told: Briefed, wide: float) -> float:
    """Ems of the board in one column."""
    return sum(_block(block, wide) for block in blocks(told.board))


def _two_columns(told: Briefed, wide: float) -> float:
    """Ems of the board in two columns, no block broken."""
    tall = [_block(block, wide) for block in blocks(told.board)]
    return min(max(sum(tall[:n]), sum(tall[n:])) for n in range(1, len(tall) + 1))


def _listed(offered: Sequence[Offered], standards: Sequence[Standard], wide: float) -> float:
    """Ems of headed lists in the smaller type."""
    inner = wide / SMALL - 1.2
    taken = 0.0
    for texts in ([option_text(o) for o in offered], [standard_text(s) for s in standards]):
        if texts:
            taken += 1.6 + sum(LEADING * lines(text, inner) + 0.15 for text in texts)
    return taken * SMALL


def _room(told: Briefed, size: int, wide: float) -> float:
    """Ems between the head and the foot with the picture of the course."""
    return (TALL - ABOVE * 2) / size - _head(told, wide) - _foot(told, size, wide, told.rows)


def _head(told: Briefed, wide: float) -> float:
    return 1.5 * 1.15 * lines(told.title, wide * 0.7 / 1.5) + 0.5


def _foot(told: Briefed, size: int, wide: float, rows: Rows | None) -> float:
    """The course and the signs to stop at beside the link's picture, then the last line."""
    beside = wide - QR / size - 1
    picture = rows.height * beside / rows.width + 0.4 if rows else 0
    signs = LEADING * lines(told.foot, beside / SMALL) * SMALL
    return max(QR / size, picture + signs) + WAY / size + 0.3
