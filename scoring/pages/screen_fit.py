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

STEP_SIZE = 42
"""The type of steps that hold as much as fits."""

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
    """One screen. ``size`` is one of ``SIZES``; what it doesn't show is empty. ``board`` are
    blocks of lines, ``percent`` the size of their type beside the rest, one of ``LARGER``;
    ``has_rows`` says whether the course is drawn."""

    size: int
    board: tuple[tuple[str, ...], ...] = ()
    offered: tuple[Offered, ...] = ()
    standards: tuple[Standard, ...] = ()
    percent: int = 100
    has_rows: bool = False


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
                board = blocks(told.board)
                return Step(size, board, told.offered, told.standards, percent, has_rows=True)
    return None


def steps(told: Briefed) -> list[Step]:
    """The same in steps, each in a large type: the board with the course, or one after the
    other where that is too much, then the options and the standards, as few at a time as
    need be."""
    return [*_board_steps(told), *_chunks(told)]


def _board_steps(told: Briefed) -> list[Step]:
    board = blocks(told.board)
    for size in SIZES:
        wide = (WIDE - EDGES * 2) / size
        if _two_columns(board, wide / 2 - 1) <= _room(told, size, wide):
            return [Step(size, board, has_rows=True)]
    size = STEP_SIZE
    wide = (WIDE - EDGES * 2) / size
    room = _room(told, size, wide, has_rows=False)
    found: list[Step] = []
    shown: tuple[tuple[str, ...], ...] = ()
    for block in board:
        for piece in _pieces(block, room, wide / 2 - 1):
            if shown and _two_columns((*shown, piece), wide / 2 - 1) > room:
                found.append(Step(size, shown))
                shown = ()
            shown = (*shown, piece)
    return [*found, Step(size, shown), Step(size, has_rows=True)]


def _pieces(block: tuple[str, ...], room: float, wide: float) -> list[tuple[str, ...]]:
    """A block, in parts where a column can't hold it."""
    found: list[tuple[str, ...]] = [()]
    for line in block:
        if found[-1] and _block((*found[-1], line), wide) > room:
            found.append(())
        found[-1] = (*found[-1], line)
    return found


def _chunks(told: Briefed) -> list[Step]:
    size = STEP_SIZE
    wide = (WIDE - EDGES * 2) / size
    room = _room(told, size, wide, has_rows=False)
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
            found.append(Step(size, (), *before))
            options, standards = ([row], []) if kind == "option" else ([], [row])  # type: ignore[list-item]
    if options or standards:
        found.append(Step(size, (), tuple(options), tuple(standards)))
    return found


def blocks(board: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The board's lines by block."""
    return tuple(tuple(block) for is_text, block in groupby(board, key=bool) if is_text)


def _block(block: Sequence[str], wide: float) -> float:
    return sum(LEADING * lines(line, wide, BOARD_LETTER) for line in block) + 0.5


def _board(told: Briefed, wide: float) -> float:
    """Ems of the board in one column."""
    return sum(_block(block, wide) for block in blocks(told.board))


def _two_columns(board: Sequence[Sequence[str]], wide: float) -> float:
    """Ems of blocks in two columns, none of them broken."""
    tall = [_block(block, wide) for block in board]
    return min((max(sum(tall[:n]), sum(tall[n:])) for n in range(1, len(tall) + 1)), default=0)


def _listed(offered: Sequence[Offered], standards: Sequence[Standard], wide: float) -> float:
    """Ems of headed lists in the smaller type."""
    inner = wide / SMALL - 1.2
    taken = 0.0
    for texts in ([option_text(o) for o in offered], [standard_text(s) for s in standards]):
        if texts:
            taken += 1.6 + sum(LEADING * lines(text, inner) + 0.15 for text in texts)
    return taken * SMALL


def _room(told: Briefed, size: int, wide: float, has_rows: bool = True) -> float:
    """Ems between the head and the foot with the picture of the course."""
    foot = _foot(told, size, wide, told.rows if has_rows else None)
    return (TALL - ABOVE * 2) / size - _head(told, wide) - foot


def _head(told: Briefed, wide: float) -> float:
    return 1.5 * 1.15 * lines(told.title, wide * 0.7 / 1.5) + 0.5


def _foot(told: Briefed, size: int, wide: float, rows: Rows | None) -> float:
    """The course and the signs to stop at beside the link's picture, then the last line."""
    beside = wide - QR / size - 1
    picture = rows.height * beside / rows.width + 0.4 if rows else 0
    signs = LEADING * lines(told.foot, beside / SMALL) * SMALL
    return max(QR / size, picture + signs) + WAY / size + 0.3
