"""A results file scored: its board, and the lines that could not be scored."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .course import Course
from .credits import ChoiceError, parse_choices
from .marks import MarkError, mark_text, parse_mark
from .ranking import Entry, competition_ranks, ordered
from .scoring import Result, Rules, Score, ScoringError, line_counts, parse_splits, score
from .sheet import SheetProblem, SheetRow


@dataclass(frozen=True, slots=True)
class Scored:
    """A result read and scored. Lines that say the same share one object."""

    mark: str
    result: Result
    score: Score


@dataclass(frozen=True, slots=True)
class BoardLine:
    """One line of the board."""

    rank: int
    row: SheetRow
    scored: Scored


@dataclass(frozen=True, slots=True)
class SheetBoard:
    """The board, best first, and what is not on it, in the order of the file."""

    lines: tuple[BoardLine, ...]
    problems: tuple[SheetProblem, ...]


def read_result(course: Course, rules: Rules, row: SheetRow) -> Scored:
    """Score one line's cells.

    Raises
    ------
    ScoringError
        With the column at fault.
    """
    try:
        mark = parse_mark(course, row.mark)
    except MarkError as error:
        raise ScoringError("mark", error.problem, error.suggestion) from None
    try:
        choices = (
            parse_choices(course, row.options, line_counts(course, mark)) if row.options else ()
        )
    except ChoiceError as error:
        raise ScoringError("options", error.problem, error.suggestion) from None
    splits = parse_splits(course, row.splits) if row.splits else {}
    result = Result(mark, choices, splits)
    return Scored(mark_text(course, mark), result, score(course, result, rules))


def score_rows(course: Course, rules: Rules, rows: Iterable[SheetRow]) -> SheetBoard:
    """Score lines and rank them; a name counts once, with its first line that can be scored."""
    known: dict[tuple[str, str, str], Scored | ScoringError] = {}
    names: dict[str, int] = {}
    entries: list[Entry] = []
    problems: list[SheetProblem] = []
    for row in rows:
        cells = (row.mark, row.options, row.splits)
        found = known.get(cells)
        if found is None:
            try:
                found = read_result(course, rules, row)
            except ScoringError as error:
                found = error
            known[cells] = found
        if isinstance(found, ScoringError):
            problems.append(SheetProblem(row.line, found.column, found.problem, found.suggestion))
            continue
        before = names.setdefault(row.name.casefold(), row.line)
        if before != row.line:
            problems.append(
                SheetProblem(
                    row.line,
                    "name",
                    f"{row.name!r} has a result on line {before} already.",
                    "Keep one of them; tell two people of one name apart: Ana S., Ana T.",
                )
            )
            continue
        entries.append(Entry(found.score.key, found.score.tie_key, row.name, (row, found)))
    entries = ordered(entries)
    lines = tuple(
        BoardLine(rank, *entry.id)  # type: ignore[misc]
        for rank, entry in zip(competition_ranks(entries), entries, strict=True)
    )
    return SheetBoard(lines, tuple(problems))
