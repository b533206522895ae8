"""Score a results file: ``manage.py score class.txt results.csv``. No database is touched."""

from __future__ import annotations

import json
import os
import sys
import unicodedata
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from scoring.core import notation
from scoring.core.breakdown import breakdown
from scoring.core.course import Course, PlaceError
from scoring.core.figures import figure
from scoring.core.notation import NotationError
from scoring.core.prescription import clock_text
from scoring.core.schemes import scheme_for
from scoring.core.scoring import Rules
from scoring.core.sheet import MAX_BYTES, SheetError, SheetProblem, decode, read_sheet
from scoring.core.sheet_board import BoardLine, SheetBoard, score_rows

EXACT = 15
"""Places enough for any exact credited figure, see ranking.py and schemes/load.py."""


class Command(BaseCommand):
    help = (
        "Print the board of a workout file and a results file. "
        "Exit status: 0 every line was read, 1 some were not, 2 the workout was not."
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("workout", help="file with the workout, - for standard input")
        parser.add_argument("results", help="CSV file with the results, - for standard input")
        parser.add_argument("--json", action="store_true", help="print JSON for programs")
        parser.add_argument(
            "--weighted", action="store_true", help="reps weigh their reference seconds"
        )
        parser.add_argument(
            "--above-one", action="store_true", help="credits above 1 count in full"
        )
        parser.add_argument(
            "--tie-break-block",
            type=int,
            metavar="N",
            help="the split at the end of block N breaks ties",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        for stream in (self.stdout, self.stderr):
            # A terminal that can't show a letter gets its code, never a traceback.
            reconfigure = getattr(getattr(stream, "_out", None), "reconfigure", None)
            if reconfigure:
                reconfigure(errors="backslashreplace")
        try:
            status = self._run(options)
            self.stdout.flush()
        except OSError as error:
            # Files are read with their own errors told, so this is the output. Nothing
            # must be left to flush at the exit, or Python complains once more.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            if not isinstance(error, BrokenPipeError):  # whoever read may leave (`| head`)
                raise CommandError(f"Can't write the board: {error.strerror}.") from None
            status = 1
        if status:
            sys.exit(status)

    def _run(self, options: dict[str, Any]) -> int:
        if options["workout"] == "-" and options["results"] == "-":
            raise CommandError("Only one of the two can be standard input.", returncode=2)
        as_json: bool = options["json"]
        rules = Rules(above_one=options["above_one"], tie_break_block=options["tie_break_block"])
        try:
            course = self._course(options["workout"], options["weighted"])
            if rules.tie_break_block is not None:
                course.block_end(rules.tie_break_block)
        except NotationError as error:
            faults = [
                SheetProblem(p.line, "workout", p.problem, p.suggestion) for p in error.problems
            ]
            self._tell(None, faults, as_json)
            return 2
        except SheetError as error:
            if not as_json:
                told = _safe(f"{error.problem} {error.suggestion}")
                raise CommandError(told, returncode=2) from None
            fault = SheetProblem(error.line, "workout", error.problem, error.suggestion)
            self._tell(None, [fault], as_json)
            return 2
        except PlaceError as error:
            raise CommandError(f"--tie-break-block: {_safe(str(error))}", returncode=2) from None
        try:
            text = self._text(options["results"])
            sheet = read_sheet(text)
        except SheetError as error:
            fault = SheetProblem(error.line, None, error.problem, error.suggestion)
            self._tell(_workout_json(course, rules), [fault], as_json)
            return 1
        for remark in sheet.remarks:
            self._remark(remark)
        board = score_rows(course, rules, sheet.rows)
        problems = sorted((*sheet.problems, *board.problems), key=lambda p: p.line)
        if as_json:
            self._write(_json(course, rules, board, problems))
        else:
            self._write(_table(course, board))
            self._tell(None, problems, as_json)
        return 1 if problems else 0

    def _course(self, path: str, weighted: bool) -> Course:
        parsed = notation.parse(self._text(path))
        for note in parsed.notes:
            self._remark(f"workout, line {note.line}: {note.problem} {note.suggestion}")
        course = Course(parsed.workout, weighted=weighted)
        if not course.blocks:
            raise SheetError(
                "Nothing in this workout is scored.", "Take 'not scored' away from a block."
            )
        return course

    def _text(self, path: str) -> str:
        """A file's text. Only so much is read as is allowed, whatever the file is."""
        if path == "-" and sys.stdin is None:
            raise SheetError("There is no standard input.", "Name a file.")
        try:
            if path == "-":
                data = sys.stdin.buffer.read(MAX_BYTES + 1)
            else:
                with open(path, "rb") as file:
                    data = file.read(MAX_BYTES + 1)
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or "this is no name of a file"
            raise SheetError(f"{path}: {reason}.", "Name a file that can be read.") from None
        text, remarks = decode(data)
        for remark in remarks:
            self._remark(remark)
        return text

    def _write(self, parts: Iterator[str]) -> None:
        for part in parts:
            self.stdout.write(part)

    def _remark(self, text: str) -> None:
        self.stderr.write(_safe(text), self.style.WARNING)

    def _tell(
        self, workout: dict[str, Any] | None, problems: list[SheetProblem], as_json: bool
    ) -> None:
        """Problems on standard error; as JSON with an empty board on standard output."""
        if as_json:
            found = {
                "workout": workout,
                "board": [],
                "problems": [_problem_json(p) for p in problems],
            }
            self.stdout.write(json.dumps(found))
            return
        for p in problems:
            what = f"line {p.line}" + (f", {p.column}" if p.column else "")
            self.stderr.write(_safe(f"{what}: {p.problem} {p.suggestion}"))


def _json(
    course: Course, rules: Rules, board: SheetBoard, problems: list[SheetProblem]
) -> Iterator[str]:
    """The whole answer, an entry of the board at a time: breakdowns are long."""
    yield f'{{"workout": {json.dumps(_workout_json(course, rules))},\n"board": ['
    opened: dict[int, dict[str, Any]] = {}
    last = len(board.lines) - 1
    for position, line in enumerate(board.lines):
        scored = line.scored
        if id(scored) not in opened:
            opened[id(scored)] = _scored_json(course, rules, line)
        entry = {"rank": line.rank, "name": line.row.name, **opened[id(scored)]}
        yield json.dumps(entry) + ("," if position < last else "")
    yield f'],\n"problems": {json.dumps([_problem_json(p) for p in problems])}}}'


def _scored_json(course: Course, rules: Rules, line: BoardLine) -> dict[str, Any]:
    score = line.scored.score
    told = breakdown(course, line.scored.result, rules, score).to_json()
    adjusted = score.adjusted
    return {
        "mark": line.scored.mark,
        "raw_reps": score.raw_reps,
        "credited_reps": figure(score.credited, most=EXACT),
        "pace_per_minute": figure(score.pace_per_minute, most=6),
        "as_prescribed": score.as_prescribed,
        "adjusted": {
            "text": adjusted.text,
            "reps": _at_least_three(adjusted.reps),
            "seconds": _at_least_three(adjusted.seconds),
        },
        "breakdown": told["rows"],
        "sentences": told["sentences"],
    }


def _at_least_three(value: Fraction | None) -> str | None:
    return None if value is None else figure(value, least=3, most=6)


def _workout_json(course: Course, rules: Rules) -> dict[str, Any]:
    scheme = scheme_for(course)
    return {
        "title": course.workout.title,
        "text": notation.to_text(course.workout),
        "scheme": scheme.name,
        "cap_seconds": course.limit,
        "course_reps": course.total,
        "weighted": course.weighted,
        "above_one": rules.above_one,
        "tie_break_block": rules.tie_break_block,
        "lines": [
            {
                "number": line.number,
                "movement": line.line.movement,
                "options": [option.label for option in line.line.options],
            }
            for line in course.lines
        ],
    }


def _problem_json(problem: SheetProblem) -> dict[str, Any]:
    return {
        "line": problem.line,
        "column": problem.column,
        "problem": problem.problem,
        "try": problem.suggestion,
    }


def _table(course: Course, board: SheetBoard) -> Iterator[str]:
    scheme = scheme_for(course)
    limit = f", {clock_text(course.limit)}" if course.limit else ""
    yield f"{_safe(course.workout.title)} ({scheme.label}{limit})"
    yield ""
    if not board.lines:
        yield "No results."
        return
    is_load = scheme.name == "max-load"
    unit = "kg" if is_load else "seconds" if course.weighted else "reps"
    heads = ["rank", "name", "mark", f"credited {unit}", "a minute", "adjusted", "done"]
    rows = [
        [
            str(line.rank),
            _short(line.row.name),
            line.scored.mark,
            figure(line.scored.score.credited),
            figure(line.scored.score.pace_per_minute),
            line.scored.score.adjusted.text,
            "as prescribed" if line.scored.score.as_prescribed else "scaled",
        ]
        for line in board.lines
    ]
    right = {0, 3, 4}
    if is_load:  # a load has no pace
        for row in (heads, *rows):
            del row[4]
        right = {0, 3}
    widths = [max(map(_width, column)) for column in zip(heads, *rows, strict=True)]
    yield "\n".join(
        "  ".join(
            " " * (width - _width(cell)) + cell
            if i in right
            else cell + " " * (width - _width(cell))
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in (heads, *rows)
    )


def _short(name: str) -> str:
    name = _safe(name)
    return name if len(name) <= 40 else name[:39] + "…"


def _safe(text: str) -> str:
    """Text that can't steer a terminal: what is neither letter, sign nor space is escaped."""
    if text.isprintable():
        return text
    return "".join(
        c if c.isprintable() or c == "\n" else c.encode("unicode_escape").decode() for c in text
    )


def _width(text: str) -> int:
    """Columns a terminal gives a text: wide letters take two, combining marks none."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )
