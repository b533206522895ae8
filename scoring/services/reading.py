"""Reading what somebody reports against a class: texts in, the core's result out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from scoring.core.breakdown import Breakdown, breakdown
from scoring.core.course import Course
from scoring.core.credits import Choice, ChoiceError, parse_choices
from scoring.core.marks import Mark, MarkError, parse_clock, parse_mark
from scoring.core.scoring import (
    Result,
    Rules,
    Score,
    ScoringError,
    line_counts,
    parse_splits,
    score,
)
from scoring.mapping import course_of, fact_texts, rules_of
from scoring.models import StreamedClass
from scoring.problems import Item, Refused, refuse, storable

MAX_NOTE = 2000


@dataclass(frozen=True, slots=True)
class ChoiceInput:
    """How a line (``"2.1"``) was done: the label of an option, ``tuck rock`` or
    ``goblet squat @ 12 kg``, and how many reps (``None`` for all)."""

    line: str
    option: str
    reps: int | None = None


@dataclass(frozen=True, slots=True)
class ResultInput:
    """What is reported, as texts. ``choices`` and ``options`` add up; ``unbroken`` are the
    longest sets without a break, by line."""

    mark: str
    choices: tuple[ChoiceInput, ...] = ()
    options: str = ""
    splits: str | Mapping[str, str] = field(default_factory=dict)
    note: str = ""
    effort: int | None = None
    unbroken: Mapping[str, int] = field(default_factory=dict)


def _choices(course: Course, data: ResultInput, mark: Mark | None) -> tuple[Choice, ...]:
    counts = line_counts(course, mark) if mark is not None else None
    found = list(parse_choices(course, data.options, counts))
    lines = [line.number for line in course.lines]
    for number, choice in enumerate(data.choices):
        if not choice.option:
            continue
        if choice.line not in lines:
            raise refuse(
                f"choices.{number}.line", f"There is no line {choice.line} in this workout.",
                f"The lines are {', '.join(lines)}.",
            )  # fmt: skip
        count = "" if choice.reps is None else f": {choice.reps}"
        try:
            found += parse_choices(course, f"{choice.line} {choice.option}{count}")
        except ChoiceError as error:
            raise refuse(f"choices.{number}.option", error.problem, error.suggestion) from None
    return tuple(found)


def _splits(course: Course, given: str | Mapping[str, str]) -> dict[int, Fraction]:
    if isinstance(given, str):
        return parse_splits(course, given)
    found: dict[int, Fraction] = {}
    for number, clock in given.items():
        if not str(clock).strip():
            continue
        if not str(number).isdigit() or not 1 <= int(number) <= len(course.blocks):
            raise ScoringError(
                "splits", f"There is no block {number}.", f"There are {len(course.blocks)}."
            )
        try:
            found[int(number)] = parse_clock(str(clock))
        except MarkError as error:
            raise ScoringError("splits", error.problem, error.suggestion) from None
    return found


def _unbroken(course: Course, unbroken: Mapping[str, int], mark: Mark) -> str:
    """The longest unbroken sets as they are kept, in the order of the lines."""
    lines = {line.number: line for line in course.lines}
    counts = line_counts(course, mark)
    for number, reps in unbroken.items():
        line = lines.get(number)
        if line is None:
            raise refuse(
                f"unbroken.{number}", f"There is no line {number} in this workout.",
                f"The lines are {', '.join(lines)}.",
            )  # fmt: skip
        if not 0 < reps <= counts[line.index]:
            raise refuse(
                f"unbroken.{number}",
                f"{reps} in a row of {line.line.movement} cannot be right.",
                f"There were {counts[line.index]} in all.",
            )
    return "; ".join(f"{n} {unbroken[n]}" for n in lines if n in unbroken)


def possible_unbroken(
    streamed_class: StreamedClass, mark: str, unbroken: Mapping[str, int]
) -> dict[str, int]:
    """Of noted unbroken sets those that a changed mark still has the reps for."""
    course = course_of(streamed_class)
    try:
        counts = line_counts(course, parse_mark(course, mark))
    except MarkError:
        return {}  # the mark itself will be refused, and says why
    most = {line.number: counts[line.index] for line in course.lines}
    return {number: reps for number, reps in unbroken.items() if reps <= most.get(number, 0)}


def texts_of(course: Course, read: Result, data: ResultInput) -> dict[str, str]:
    """The canonical texts in which a report that was read is kept."""
    return fact_texts(course, read) | {"unbroken": _unbroken(course, data.unbroken, read.mark)}


def read_result(course: Course, rules: Rules, data: ResultInput) -> tuple[Result, Score]:
    """Read and score a report.

    Raises
    ------
    Refused
        With one item for every column that can't be read.
    """
    items: list[Item] = []
    mark: Mark | None = None
    choices: tuple[Choice, ...] = ()
    splits: dict[int, Fraction] = {}
    try:
        mark = parse_mark(course, data.mark)
    except MarkError as error:
        items.append(Item("mark", error.problem, error.suggestion))
    try:
        choices = _choices(course, data, mark)
    except ChoiceError as error:
        items.append(Item("options", error.problem, error.suggestion))
    except Refused as refusal:
        items += refusal.items
    try:
        splits = _splits(course, data.splits)
    except ScoringError as error:
        items.append(Item("splits", error.problem, error.suggestion))
    if mark is not None:
        try:
            _unbroken(course, data.unbroken, mark)
        except Refused as refusal:
            items += refusal.items
    if data.effort is not None and not 0 <= data.effort <= 10:
        items.append(Item("effort", "Effort is from 0 to 10.", "Leave it out if unsure."))
    if len(data.note) > MAX_NOTE or not storable(data.note):
        items.append(Item("note", "That can't be kept.", f"At most {MAX_NOTE} characters."))
    if items or mark is None:
        raise Refused(*items)
    result = Result(mark, choices, splits)
    try:
        return result, score(course, result, rules)
    except ScoringError as error:
        raise Refused(Item(error.column, error.problem, error.suggestion)) from None


def try_score(*, streamed_class: StreamedClass, data: ResultInput) -> tuple[Score, Breakdown]:
    """Score a report without keeping it. Raises ``Refused`` like ``read_result``."""
    course, rules = course_of(streamed_class), rules_of(streamed_class)
    result, scored = read_result(course, rules, data)
    return scored, breakdown(course, result, rules, scored)
