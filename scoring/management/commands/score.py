"""Score a class from two files, without a database: ``manage.py score WORKOUT RESULTS``."""

from __future__ import annotations

import json
import sys
import unicodedata
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from scoring.core import notation
from scoring.core.breakdown import breakdown
from scoring.core.course import Course
from scoring.core.figures import figure
from scoring.core.prescription import clock_text
from scoring.core.scoring import Rules
from scoring.core.sheet import SheetError, SheetProblem, decode, read_sheet
from scoring.core.sheet_board import BoardLine, SheetBoard, score_rows

SOME_LINES = 1
NO_WORKOUT = 2
MAX_BYTES = 10 * 1024 * 1024


class Command(BaseCommand):
    help = "Print the board of a workout file and a results file (- reads standard input)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("workout", help="the workout as written on a board")
        parser.add_argument("results", help="CSV with name, mark, options, splits, note")
        parser.add_argument("--json", action="store_true", help="print it for programs")
        parser.add_argument(
            "--weighted", action="store_true", help="weigh reps by reference seconds"
        )
        parser.add_argument("--above-one", action="store_true", help="credits above 1 count")
        parser.add_argument(
            "--tie-break-block", type=int, metavar="N", help="the split of block N breaks ties"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["workout"] == options["results"] == "-":
            raise CommandError("Only one of the two can be standard input.", returncode=NO_WORKOUT)
        course = self._course(options["workout"], weighted=options["weighted"])
        rules = Rules(above_one=options["above_one"], tie_break_block=options["tie_break_block"])
        if rules.tie_break_block not in (None, *(b.number for b in course.blocks)):
            raise CommandError(
                f"There is no block {rules.tie_break_block}; the course has {len(course.blocks)}.",
                returncode=NO_WORKOUT,
            )
        if not course.blocks:
            raise CommandError("This workout is not scored.", returncode=NO_WORKOUT)
        board, problems = self._board(course, rules, options["results"])
        if options["json"]:
            self.stdout.write(json.dumps(as_json(course, rules, board, problems), indent=2))
        else:
            for row in table(course, board):
                self.stdout.write(row)
            for problem in problems:
                where = f"line {problem.line}" + (f", {problem.column}" if problem.column else "")
                self.stderr.write(
                    visible(f"{where}: {problem.problem} {problem.suggestion}"), self.style.NOTICE
                )
        if problems:
            sys.exit(SOME_LINES)

    def _read(self, path: str) -> bytes:
        try:
            data = sys.stdin.buffer.read(MAX_BYTES + 1) if path == "-" else Path(path).read_bytes()
        except OSError as error:
            raise CommandError(
                f"{path} can't be read: {error.strerror or error}.", returncode=NO_WORKOUT
            ) from None
        return data

    def _text(self, path: str) -> str:
        try:
            text, remarks = decode(self._read(path))
        except SheetError as error:
            raise CommandError(
                f"{path}: {error.problem} {error.suggestion}", returncode=NO_WORKOUT
            ) from None
        for remark in remarks:
            self.stderr.write(f"{path}: {remark}")
        return text

    def _course(self, path: str, *, weighted: bool) -> Course:
        try:
            parsed = notation.parse(self._text(path))
        except notation.NotationError as error:
            lines = [
                visible(f"line {p.line}: {p.text}\n  {p.problem} {p.suggestion}")
                for p in error.problems
            ]
            raise CommandError("\n".join(lines), returncode=NO_WORKOUT) from None
        for note in parsed.notes:
            self.stderr.write(visible(f"line {note.line}: {note.problem} {note.suggestion}"))
        return Course(parsed.workout, weighted=weighted)

    def _board(
        self, course: Course, rules: Rules, path: str
    ) -> tuple[SheetBoard, list[SheetProblem]]:
        try:
            sheet = read_sheet(self._text(path))
        except SheetError as error:
            problem = SheetProblem(error.line, None, error.problem, error.suggestion)
            return SheetBoard((), ()), [problem]
        for remark in sheet.remarks:
            self.stderr.write(visible(remark))
        board = score_rows(course, rules, sheet.rows)
        problems = [*sheet.problems, *board.problems]
        return board, sorted(problems, key=lambda p: p.line)


def visible(text: str) -> str:
    """Text that can't move the cursor or colour the terminal."""
    return "".join(
        c if c == "\n" or unicodedata.category(c) not in ("Cc", "Cf", "Cs") else "�" for c in text
    )


def table(course: Course, board: SheetBoard) -> list[str]:
    """The board as aligned rows of text."""
    head = ("rank", "name", "mark", "credited", "a minute", "adjusted", "done")
    rows = [head] + [
        (
            str(line.rank),
            visible(line.row.name),
            line.scored.mark,
            figure(line.scored.score.credited),
            figure(line.scored.score.pace_per_minute),
            line.scored.score.adjusted.text,
            "as prescribed" if line.scored.score.as_prescribed else "scaled",
        )
        for line in board.lines
    ]
    widths = [max(len(row[i]) for row in rows) for i in range(len(head))]
    limit = f", cap {clock_text(course.limit)}" if course.limit else ""
    return [f"{course.workout.title}{limit}", ""] + [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def as_json(
    course: Course, rules: Rules, board: SheetBoard, problems: list[SheetProblem]
) -> dict[str, Any]:
    """The board as plain data; exact figures are decimal texts."""
    return {
        "workout": {
            "title": course.workout.title,
            "text": notation.to_text(course.workout),
            "cap_seconds": course.limit,
            "course_reps": course.total,
        },
        "board": [_entry(course, rules, line) for line in board.lines],
        "problems": [
            {"line": p.line, "column": p.column, "problem": p.problem, "try": p.suggestion}
            for p in problems
        ],
    }


def _entry(course: Course, rules: Rules, line: BoardLine) -> dict[str, Any]:
    scored = line.scored.score
    adjusted = scored.adjusted
    opened = breakdown(course, line.scored.result, rules, scored).to_json()
    return {
        "rank": line.rank,
        "name": line.row.name,
        "mark": line.scored.mark,
        "raw_reps": scored.raw_reps,
        "credited_reps": figure(scored.credited, most=6),
        "pace_per_minute": figure(scored.pace_per_minute, most=6),
        "as_prescribed": scored.as_prescribed,
        "adjusted": {
            "text": adjusted.text,
            "reps": None if adjusted.reps is None else figure(adjusted.reps, least=3, most=6),
            "seconds": (
                None if adjusted.seconds is None else figure(adjusted.seconds, least=3, most=6)
            ),
        },
        "breakdown": opened["rows"],
        "sentences": opened["sentences"],
    }
