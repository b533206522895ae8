"""Options to offer at a line: what this group used before, then what the catalogue knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from . import catalogue
from .board_edit import option_text
from .course import Course, CourseLine
from .credits import CreditTable
from .figures import figure
from .notation import NotationError, parse
from .prescription import Option, PrescriptionError

MOST = 3
"""So many are suggested at one line."""


@dataclass(frozen=True, slots=True)
class Used:
    """An option that stood at a movement before: by how many ``members``, how many
    ``times``, and the option as it was last written."""

    option: Option
    times: int
    members: int


@dataclass(frozen=True, slots=True)
class Suggestion:
    """An option to add. ``text`` is its line on the board, ``why`` says where it is from,
    ``counts`` what a rep of it will count."""

    option: Option
    text: str
    why: str
    counts: str


@dataclass(frozen=True, slots=True)
class LineSuggestions:
    """What could be added at a line; ``offered`` are its options as they stand."""

    line: CourseLine
    offered: tuple[str, ...]
    suggestions: tuple[Suggestion, ...]


def suggest_options(
    course: Course, used: Mapping[str, Sequence[Used]], table: CreditTable
) -> tuple[LineSuggestions, ...]:
    """Suggestions for every line of the course that has any.

    ``used`` are earlier options by the movement they stood for.
    """
    found = []
    for line in course.lines:
        listed = _for_line(line, used.get(line.line.movement, ()), table)
        if listed:
            offered = tuple(option.label for option in line.line.options)
            found.append(LineSuggestions(line, offered, listed))
    return tuple(found)


def _for_line(line: CourseLine, used: Sequence[Used], table: CreditTable) -> tuple[Suggestion, ...]:
    known = catalogue.find(line.line.movement)
    taken = {line.line.movement, *(option.movement for option in line.line.options)}
    labels = {option.label for option in line.line.options}
    found: list[Suggestion] = []
    for past in sorted(used, key=lambda u: (-u.members, -u.times, u.option.label)):
        is_load_only = past.option.movement == line.line.movement
        if past.option.label in labels or (past.option.movement in taken and not is_load_only):
            continue
        if is_load_only and not _is_lighter(past.option, line):
            continue
        labels.add(past.option.label)
        taken.add(past.option.movement)
        found.append(_suggestion(line, past.option, _history(past), table))
    for name in known.easier if known else ():
        if name not in taken:
            taken.add(name)
            option = Option(name)
            why = "easier, from the catalogue"
            found.append(_suggestion(line, option, why, table))
    return tuple(each for each in found[:MOST] if _fits(line, each.option))


def _fits(line: CourseLine, option: Option) -> bool:
    """Whether the line may have it at all, as one prescribed already may not."""
    return len(line.line.options) < 20 and not (
        option.movement == line.line.movement and option.load == line.line.load
    )


def _is_lighter(option: Option, line: CourseLine) -> bool:
    load = line.line.load
    if option.load is None or load is None:
        return False
    return option.load.kilograms[0] < min(load.kilograms)


def _history(past: Used) -> str:
    if not past.times:
        return "offered here before, not used yet"
    people = "1 member" if past.members == 1 else f"{past.members} members"
    often = "once" if past.times == 1 else f"{past.times} times"
    return f"used here {often}, by {people}"


def _suggestion(line: CourseLine, option: Option, why: str, table: CreditTable) -> Suggestion:
    set_here = _set_in(line, option, table)
    if set_here is not None:
        # The table is asked when a class is scored: written out, a change of it would not count.
        bare = Option(option.movement, option.load)
        counts = f"counts {figure(set_here, most=4)} by the credit table"
        return Suggestion(bare, option_text(bare), why, counts)
    if option.credit is not None:
        counts = f"counts {figure(option.credit, most=4)}, as last written"
        return Suggestion(option, option_text(option), why, counts)
    if option.movement == line.line.movement and option.load and line.line.load:
        credit = table.for_load(option.load.kilograms[0], line.line.load.kilograms)
        return Suggestion(
            option, option_text(option), why, f"counts {figure(credit, most=4)} by the load rule"
        )
    usual = figure(table.default_option, most=4)
    counts = f"counts {usual} until you write a credit"
    return Suggestion(option, option_text(option), why, counts)


def _set_in(line: CourseLine, option: Option, table: CreditTable) -> Fraction | None:
    movement = line.line.movement
    return table.options.get((movement, option.label)) or table.options.get(
        (movement, option.movement)
    )


def read_option(text: str) -> Option:
    """An option from the line that ``option_text`` wrote.

    Raises ``ValueError`` where it is none.
    """
    line = " ".join(text.split())
    try:  # an option has one load, so that none is what a line with two prescribes
        above = "1 sofa shuffle @ 2/1 kg"
        board = parse(f"One line\n\n1 round, not scored\n{above}\n  {line}\n")
    except (NotationError, PrescriptionError) as error:
        raise ValueError(str(error)) from None
    (option,) = board.workout.blocks[0].lines[0].options
    return option
