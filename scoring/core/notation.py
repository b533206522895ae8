"""A board's text ⇄ a workout.

``parse`` reads what a coach writes on a board, in one go for all lines, and tells every
line it can't read; ``to_text`` (notation_print.py) prints the one canonical form.
Parsing what was printed gives the same workout.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

from lark import UnexpectedInput

from . import catalogue
from .names import name_problem, plain
from .notation_help import CAP, HEADERS, LINE, OPTION, USUAL, WHOLE, diagnose
from .notation_lines import folded, read
from .notation_print import to_text
from .prescription import Block, BlockKind, Line, Option, PrescriptionError, Workout

__all__ = ["NotationError", "Note", "Parsed", "Problem", "parse", "to_text"]

MAX_TEXT = 20_000
MAX_LINES = 500
MAX_LINE = 200


@dataclass(frozen=True, slots=True)
class Problem:
    """A line that can't be read: its number from 1, its text, what is wrong, what would do."""

    line: int
    text: str
    problem: str
    suggestion: str


@dataclass(frozen=True, slots=True)
class Note:
    """A remark on a line that was read all the same."""

    line: int
    text: str
    problem: str
    suggestion: str


@dataclass(frozen=True, slots=True)
class Parsed:
    """A workout, and remarks on movements the catalogue doesn't know."""

    workout: Workout
    notes: tuple[Note, ...]


class NotationError(ValueError):
    """A text that is no workout; ``problems`` has an entry for each line at fault."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(f"line {p.line}: {p.problem}" for p in problems))
        self.problems = problems


MAX_SUGGESTIONS = 40
"""Unknown movements of one board that are compared with the whole catalogue."""

_CAP_LINE = re.compile(r"(?:time )?cap\b|\d[\d:]* ?[a-z]* (?:time )?cap$")


def _is_cap(row: str) -> bool:
    return bool(_CAP_LINE.match(folded(row, "head_cap")))


def _starts_block(row: str) -> bool:
    try:
        read("header", folded(row, "header"))
    except (UnexpectedInput, PrescriptionError, ValueError):
        return False
    return True


def _is_movement(row: str) -> bool:
    try:
        said = read("movement", folded(row, "movement"))
    except (UnexpectedInput, PrescriptionError, ValueError):
        return False
    name = said["movement"]
    return not name_problem(name) and ("count" in said or catalogue.find(name) is not None)


class _Board:
    """One reading of a text: collects blocks, problems and notes line by line."""

    def __init__(self, title: str) -> None:
        self.title = title
        self.problems: list[Problem] = []
        self.notes: list[Note] = []
        self.unknown: set[str] = set()
        self.cap: int | None = None
        self.cap_row: tuple[int, str] | None = None
        self.blocks: list[tuple[int, str, Block | None]] = []

    def fault(self, number: int, text: str, problem: str, suggestion: str) -> None:
        self.problems.append(Problem(number, text.strip(), problem, suggestion))

    def attempt(self, rule: str, number: int, text: str) -> Any:
        """What a line says by a rule of the grammar; ``None`` and a fault if nothing."""
        line = folded(text, rule)
        try:
            said = read(rule, line)
        except PrescriptionError as error:
            self.fault(number, text, str(error), USUAL[rule])
            return None
        except (UnexpectedInput, ValueError) as error:
            self.fault(number, text, *self.reason(rule, line, text, error))
            return None
        if rule in ("movement", "option") and said["movement"]:
            problem = name_problem(said["movement"])
            if problem:
                self.fault(number, text, *self.reason(rule, line, text, problem))
                return None
        return said

    def reason(self, rule: str, line: str, text: str, error: Exception | str) -> tuple[str, str]:
        """Why a line isn't what its place asks for, looking at what else it could be."""
        if rule == "movement" and _is_cap(text):
            return "The cap stands under the title.", CAP
        if rule == "movement" and _starts_block(text):
            return "This looks like the start of a block.", "Put an empty line above it."
        if rule == "header" and not self.blocks and _starts_block(self.title):
            return (
                "This is not the start of a block.",
                f"The first line is the title: write one above {plain(self.title)}.",
            )
        if rule == "header" and _is_movement(text):
            return (
                "This is not the start of a block; a movement line comes below one.",
                "Say above it what the block is. " + HEADERS,
            )
        return diagnose(rule, line, error)

    def name(self, said: dict[str, Any], number: int, text: str) -> str:
        """The catalogue's name, or the coach's own with a note."""
        written: str = said["movement"]
        spellings = [written]
        if said.pop("is_hold", False):  # "plank hold 0:20", but "hollow hold 0:20" is a name
            spellings = [f"{written} hold", written]
        for spelling in spellings:
            known = catalogue.find(spelling)
            if known:
                return known.name
        name = spellings[0]
        if name not in self.unknown:
            self.unknown.add(name)
            searched = len(self.unknown) <= MAX_SUGGESTIONS
            meant = catalogue.suggest(name) if searched else None
            remark = (
                f"Did you mean {meant}?"
                if meant
                else "It is taken as your own movement; add its standard to the note."
            )
            self.notes.append(
                Note(number, text.strip(), f"{name!r} is not in the catalogue.", remark)
            )
        return name

    def line(self, number: int, text: str, kind: BlockKind | None) -> Line | None:
        said = self.attempt("movement", number, text)
        if said is None:
            return None
        rep_unit = said.pop("rep_unit", None)
        is_max = said.pop("is_max", False)
        if rep_unit is not None and rep_unit is not said.get("unit"):
            self.fault(number, text, "What makes a rep is of another unit than the count.", LINE)
            return None
        if is_max and kind not in (BlockKind.INTERVALS, None):
            self.fault(
                number, text, "Only an interval can end with a max movement.",
                "Write a count, or use every 1:00 for 10 rounds.",
            )  # fmt: skip
            return None
        if kind is BlockKind.INTERVALS and not is_max and "count" not in said:
            self.fault(number, text, "This needs a count.", "Write 10 burpee, or max burpee.")
            return None
        try:
            said["movement"] = self.name(said, number, text)
            return Line(**said)
        except PrescriptionError as error:
            self.fault(number, text, str(error), LINE)
            return None

    def option(self, number: int, text: str, line: Line) -> Line:
        said = self.attempt("option", number, text)
        if said is None:
            return line
        if said["movement"] is None and said["load"] is None:
            self.fault(number, text, "An option names a movement, a load, or both.", OPTION)
            return line
        try:
            named = said["movement"] is not None
            said["movement"] = self.name(said, number, text) if named else line.movement
            return replace(line, options=(*line.options, Option(**said)))
        except PrescriptionError as error:
            self.fault(number, text, str(error), OPTION)
            return line

    def block(self, rows: list[tuple[int, str]]) -> Block | None:
        """A block of numbered lines, ``None`` where any of it can't be read."""
        number, text = rows[0]
        before = len(self.problems)
        said = self.attempt("header", number, text)
        kind = said["kind"] if said else None
        lines: list[Line] = []
        places: list[tuple[int, str]] = []
        for line_number, line_text in rows[1:]:
            is_option = re.match(r"\s*or\b(?!-)", line_text, re.I)
            if is_option and lines:
                lines[-1] = self.option(line_number, line_text, lines[-1])
            elif is_option and len(self.problems) == before:
                self.fault(line_number, line_text, "There is no movement above this.", OPTION)
            elif not is_option:
                line = self.line(line_number, line_text, kind)
                if line is not None:
                    lines.append(line)
                    places.append((line_number, line_text))
        if len(self.problems) > before or said is None:
            return None
        try:
            return Block(lines=tuple(lines), **said)
        except PrescriptionError as error:
            if error.line is None:
                self.fault(number, text, str(error), HEADERS)
            else:
                self.fault(*places[error.line], str(error), LINE)
            return None

    def read_cap(self, number: int, text: str) -> None:
        if self.cap_row is not None:
            self.fault(number, text, "There are two caps.", f"Line {self.cap_row[0]} has one.")
            return
        self.cap_row = number, text
        self.cap = self.attempt("head_cap", number, text)


def parse(text: str) -> Parsed:
    """Read a board.

    Raises
    ------
    NotationError
        With a problem for each line that can't be read; never anything else.
    """
    if len(text) > MAX_TEXT:
        raise NotationError(
            (Problem(1, "", "That is too long for a board.", f"At most {MAX_TEXT} characters."),)
        )
    rows = list(enumerate(re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff")), start=1))
    while rows and not rows[-1][1]:
        rows.pop()
    if len(rows) > MAX_LINES:
        raise NotationError(
            (Problem(MAX_LINES, "", "There are too many lines.", f"At most {MAX_LINES} lines."),)
        )
    rows = [(n, row) for n, row in rows if not row.lstrip().startswith("#")]
    long = tuple(
        Problem(n, row.strip()[:60] + "…", "This line is too long.", f"At most {MAX_LINE}.")
        for n, row in rows
        if len(row) > MAX_LINE
    )
    if long:
        raise NotationError(long)
    groups: list[list[tuple[int, str]]] = [[]]
    for number, row in rows:
        if plain(row):
            groups[-1].append((number, row))
        elif groups[-1]:
            groups.append([])
    groups = [group for group in groups if group]
    if not groups:
        raise NotationError((Problem(1, "", "There is no workout yet.", WHOLE),))
    return _assemble(groups)


def _assemble(groups: list[list[tuple[int, str]]]) -> Parsed:
    title_number, title = groups[0].pop(0)
    board = _Board(title)
    for group in groups:
        # Under the title, or wherever it stands alone: boards often have it at the bottom.
        while group and _is_cap(group[0][1]):
            board.read_cap(*group.pop(0))
        if group:
            board.blocks.append((*group[0], board.block(group)))
    if not board.blocks and not board.problems:
        board.fault(title_number, title, "There is a title and no workout.", WHOLE)
    if not board.problems:
        try:
            blocks = tuple(block for _, _, block in board.blocks if block)
            workout = Workout(plain(title), blocks, board.cap)
        except PrescriptionError as error:
            number, row = title_number, title
            if error.block is not None:
                number, row, _ = board.blocks[error.block]
            elif board.cap_row and re.search(r"\bcap\b", str(error)):
                number, row = board.cap_row
            board.fault(number, row, str(error), error.suggestion)
        else:
            printed = to_text(workout)
            if len(printed) <= MAX_TEXT and printed.count("\n") <= MAX_LINES:
                return Parsed(workout, tuple(board.notes))
            board.fault(title_number, title, "That is too long for a board.", "Make it shorter.")
    raise NotationError(tuple(sorted(board.problems, key=lambda p: p.line)))
