"""A board's text ⇄ a workout.

``parse`` reads what a coach writes on a board, in one go for all lines, and tells every
line it can't read; ``to_text`` (notation_print.py) prints the one canonical form.
Parsing what was printed gives the same workout.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from lark import Lark, Token, Transformer, Tree, UnexpectedInput
from lark.exceptions import VisitError

from . import catalogue
from .names import FOLDED, plain
from .notation_print import to_text
from .prescription import (
    Block,
    BlockKind,
    Line,
    Load,
    Option,
    PrescriptionError,
    Unit,
    Workout,
)

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


_HEADERS = (
    "Write a rep scheme (18-12-6), 5 rounds, for time, amrap 12:00, amrap in the time left, "
    "every 1:00 for 10 rounds, rest 2:00, or max load, 3 reps."
)
_LINE = "Write count, movement, load, and what else is true of it: 10 push press @ 16 kg."
_OPTION = "Write or tuck rock, credit 0.75 with a movement, a load, or both."
_CAP = "Write the time the clock stops at: cap 18:00."
_WHOLE = "The first line is the title; then the cap; a blank line ends each block."


@lru_cache(maxsize=1)
def _grammar() -> Lark:
    return Lark(
        Path(__file__).with_name("notation.lark").read_text(encoding="utf-8"),
        parser="lalr",
        start=["head_cap", "header", "movement", "option"],
        maybe_placeholders=False,
    )


def _seconds(token: Token | str) -> int:
    total = 0
    parts = [int(part) for part in str(token).split(":")]
    if any(part > 59 for part in parts[1:]):
        raise PrescriptionError(f"{token} is not a time; minutes and seconds go to 59.")
    for part in parts:
        total = total * 60 + part
    return total


class _Reader(Transformer[Token, Any]):
    """Parse trees of single lines → dictionaries of what they say."""

    def duration(self, children: list[Token]) -> int:
        if children[0].type == "CLOCK":
            return _seconds(children[0])
        seconds = len(children) > 1 and children[1].type == "SECONDS"
        return int(children[0]) * (1 if seconds else 60)

    def head_cap(self, children: list[int]) -> int:
        return children[0]

    def header(self, children: list[Any]) -> dict[str, Any]:
        said = dict(children[0])
        for flag in children[1:]:
            said.update(flag)
        return said

    def one_side(self, _: list[Token]) -> dict[str, Any]:
        return {"one_side_per_round": True}

    def not_scored(self, _: list[Token]) -> dict[str, Any]:
        return {"scored": False}

    def ladder(self, children: list[Token]) -> dict[str, Any]:
        return {"kind": BlockKind.LADDER, "rungs": tuple(map(int, children[0].split("-")))}

    def rounds(self, children: list[Token]) -> dict[str, Any]:
        return {"kind": BlockKind.ROUNDS, "rounds": int(children[0])}

    def for_time(self, _: list[Token]) -> dict[str, Any]:
        return {"kind": BlockKind.ROUNDS, "for_time": True}

    def amrap_left(self, _: list[Token]) -> dict[str, Any]:
        return {"kind": BlockKind.AMRAP}

    def amrap(self, children: list[int]) -> dict[str, Any]:
        return {"kind": BlockKind.AMRAP, "seconds": children[0]}

    def intervals(self, children: list[Any]) -> dict[str, Any]:
        return {"kind": BlockKind.INTERVALS, "seconds": children[0], "rounds": int(children[1])}

    def rest(self, children: list[int]) -> dict[str, Any]:
        return {"kind": BlockKind.REST, "seconds": children[0]}

    def max_load(self, children: list[Token]) -> dict[str, Any]:
        return {"kind": BlockKind.MAX_LOAD, "reps": int(children[0])}

    def load(self, children: list[Token]) -> dict[str, Any]:
        amounts = tuple(Fraction(str(c)) for c in children[:-1])
        return {"load": Load(amounts, str(children[-1])[:2])}

    def max_count(self, _: list[Token]) -> dict[str, Any]:
        return {"is_max": True}

    def reps(self, children: list[Token]) -> dict[str, Any]:
        return {"count": int(children[0])}

    def calories(self, children: list[Token]) -> dict[str, Any]:
        return {"count": int(children[0]), "unit": Unit.CALORIES}

    def metres(self, children: list[Token]) -> dict[str, Any]:
        return {"count": int(children[0]), "unit": Unit.METRES}

    def seconds(self, children: list[Any]) -> dict[str, Any]:
        given = children[-1]
        length = given if isinstance(given, int) else _seconds(given)
        return {"count": length, "unit": Unit.SECONDS}

    def second_count(self, children: list[Token]) -> dict[str, Any]:
        return {"count": int(children[0]), "unit": Unit.SECONDS}

    def alternating(self, _: list[Token]) -> dict[str, Any]:
        return {"alternating": True}

    def per_side(self, _: list[Token]) -> dict[str, Any]:
        return {"per_side": True}

    def metres_a_rep(self, children: list[Token]) -> dict[str, Any]:
        return {"units_per_rep": int(children[0]), "rep_unit": Unit.METRES}

    def seconds_a_rep(self, children: list[Token]) -> dict[str, Any]:
        return {"units_per_rep": _seconds(children[0]), "rep_unit": Unit.SECONDS}

    def movement(self, children: list[Any]) -> dict[str, Any]:
        said: dict[str, Any] = {}
        for child in children:
            if isinstance(child, Token):
                said["movement"] = str(child).strip()
            elif isinstance(child, dict):
                said.update(child)
        return said

    def option(self, children: list[Any]) -> dict[str, Any]:
        said: dict[str, Any] = {"movement": None, "load": None, "credit": None}
        for child in children:
            if isinstance(child, dict):
                said.update(child)
            elif child.type == "NAME":
                said["movement"] = str(child).strip()
            elif child.type == "NUMBER":
                said["credit"] = Fraction(str(child))
            else:
                said["credit"] /= 100
        return said


_READER = _Reader()


def _read(rule: str, text: str) -> Any:
    """What a folded line says; raises ``UnexpectedInput`` or ``PrescriptionError``."""
    tree: Tree[Token] = _grammar().parse(text, start=rule)
    try:
        return _READER.transform(tree)
    except VisitError as error:
        if isinstance(error.orig_exc, PrescriptionError):
            raise error.orig_exc from None
        raise


_TRAILING = re.compile(r"(?<=[^,@ ]) (alternating|per side|each side|credit(?= ?[\d.]))")
_WORDS_FIRST = re.compile(r"^(.*[^\d,@ ]) hold (\d+:\d\d)\b")


def _folded(text: str) -> str:
    """A line as the grammar wants it: lower case, plain signs, single spaces."""
    line = plain(text).translate(FOLDED).lower()
    line = re.sub(r"(?<=\d) ?x (?=\w)", " ", line)
    line = re.sub(r"(?<=\d)(?=(?:kgs?|lbs?)\b)", " ", line)
    line = re.sub(r"(?<=\d),(?=\d)", ".", line)
    line = re.sub(r"(?<=\d) ?- ?(?=\d)", "-", line)
    line = _WORDS_FIRST.sub(r"\2 \1 hold", line)
    return _TRAILING.sub(r", \1", line)


class _Board:
    """One reading of a text: collects blocks, problems and notes line by line."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.notes: list[Note] = []

    def fault(self, number: int, text: str, problem: str, suggestion: str) -> None:
        self.problems.append(Problem(number, text.strip(), problem, suggestion))

    def attempt(self, rule: str, number: int, text: str, what: str, suggestion: str) -> Any:
        try:
            return _read(rule, _folded(text))
        except PrescriptionError as error:
            self.fault(number, text, str(error), suggestion)
        except (UnexpectedInput, ValueError, ZeroDivisionError):
            self.fault(number, text, f"This is not {what}.", suggestion)
        return None

    def name(self, written: str, number: int, text: str) -> str:
        """The catalogue's name, or the coach's own with a note."""
        known = catalogue.find(written)
        if known:
            return known.name
        meant = catalogue.suggest(written)
        if meant:
            remark = f"Did you mean {meant}?"
        else:
            remark = "It is taken as your own movement; add its standard to the note."
        self.notes.append(
            Note(number, text.strip(), f"{written!r} is not in the catalogue.", remark)
        )
        return written

    def line(self, number: int, text: str, kind: BlockKind | None) -> Line | None:
        said = self.attempt("movement", number, text, "a movement line", _LINE)
        if said is None:
            return None
        rep_unit = said.pop("rep_unit", None)
        is_max = said.pop("is_max", False)
        if rep_unit is not None and rep_unit is not said.get("unit"):
            self.fault(number, text, "What makes a rep is of another unit than the count.", _LINE)
            return None
        if is_max and kind is not BlockKind.INTERVALS:
            self.fault(
                number, text, "Only an interval can end with a max movement.",
                "Write a count, or use every 1:00 for 10 rounds.",
            )  # fmt: skip
            return None
        if kind is BlockKind.INTERVALS and not is_max and "count" not in said:
            self.fault(number, text, "This needs a count.", "Write 10 burpee, or max burpee.")
            return None
        try:
            said["movement"] = self.name(said["movement"], number, text)
            return Line(**said)
        except PrescriptionError as error:
            self.fault(number, text, str(error), _LINE)
            return None

    def option(self, number: int, text: str, line: Line) -> Line:
        said = self.attempt("option", number, text, "an option", _OPTION)
        if said is None:
            return line
        if said["movement"] is None and said["load"] is None:
            self.fault(number, text, "An option names a movement, a load, or both.", _OPTION)
            return line
        try:
            written = said.pop("movement")
            name = self.name(written, number, text) if written else line.movement
            return replace(line, options=(*line.options, Option(name, **said)))
        except PrescriptionError as error:
            self.fault(number, text, str(error), _OPTION)
            return line

    def block(self, rows: list[tuple[int, str]]) -> Block | None:
        """A block of numbered lines, ``None`` where any of it can't be read."""
        number, text = rows[0]
        before = len(self.problems)
        said = self.attempt("header", number, text, "the start of a block", self.hint(text))
        kind = said["kind"] if said else None
        lines: list[Line] = []
        places: list[tuple[int, str]] = []
        for line_number, line_text in rows[1:]:
            is_option = re.match(r"\s*or\b", line_text, re.I)
            if is_option and lines:
                lines[-1] = self.option(line_number, line_text, lines[-1])
            elif is_option and len(self.problems) == before:
                self.fault(line_number, line_text, "There is no movement above this.", _OPTION)
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
                self.fault(number, text, str(error), _HEADERS)
            else:
                self.fault(*places[error.line], str(error), _LINE)
            return None

    def hint(self, text: str) -> str:
        starts = ["rounds", "for time", "amrap", "every", "rest", "max load"]
        close = get_close_matches(re.sub(r"[^a-z ]", "", text.lower()).strip(), starts, 1, 0.7)
        return (f"Did you mean {close[0]}? " if close else "") + _HEADERS


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
    if len(rows) > MAX_LINES:
        raise NotationError(
            (Problem(MAX_LINES, "", "There are too many lines.", f"At most {MAX_LINES} lines."),)
        )
    board = _Board()
    rows = [(n, row) for n, row in rows if not row.lstrip().startswith("#")]
    for number, row in rows:
        if len(row) > MAX_LINE:
            board.fault(number, row[:60] + "…", "This line is too long.", f"At most {MAX_LINE}.")
    if board.problems:
        raise NotationError(tuple(board.problems))
    groups: list[list[tuple[int, str]]] = [[]]
    for number, row in rows:
        if plain(row):
            groups[-1].append((number, row))
        elif groups[-1]:
            groups.append([])
    groups = [group for group in groups if group]
    if not groups:
        raise NotationError((Problem(1, "", "There is no workout yet.", _WHOLE),))
    return _assemble(board, groups)


def _assemble(board: _Board, groups: list[list[tuple[int, str]]]) -> Parsed:
    title_number, title = groups[0][0]
    cap: int | None = None
    rest = groups[0][1:]
    while rest and re.match(r"\s*cap\b", rest[0][1], re.I):
        number, row = rest.pop(0)
        read = board.attempt("head_cap", number, row, "a cap", _CAP)
        if cap is not None:
            board.fault(number, row, "There are two caps.", "Write one.")
        cap = read
    if not rest and len(groups) > 1 and re.match(r"\s*cap\b", groups[1][0][1], re.I):
        number, row = groups[1].pop(0)
        cap = board.attempt("head_cap", number, row, "a cap", _CAP)
    starts = [group for group in [rest, *groups[1:]] if group]
    blocks = [(group[0][0], group[0][1], board.block(group)) for group in starts]
    if not blocks and not board.problems:
        board.fault(title_number, title, "There is a title and no workout.", _WHOLE)
    if not board.problems:
        try:
            whole = Workout(plain(title), tuple(b for _, _, b in blocks if b), cap)
            return Parsed(whole, tuple(board.notes))
        except PrescriptionError as error:
            number, row = title_number, title
            if error.block is not None:
                number, row, _ = blocks[error.block]
            board.fault(number, row, str(error), _WHOLE)
    raise NotationError(tuple(sorted(board.problems, key=lambda p: p.line)))
