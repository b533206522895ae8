"""Adding an option to a board's text, with all the rest of it left as it was typed."""

from __future__ import annotations

import re
from dataclasses import replace

from lark import UnexpectedInput

from . import catalogue
from .course import CourseLine
from .notation import NotationError, parse
from .notation_lines import folded, read
from .prescription import Option, PrescriptionError, Workout, decimal_text

_OPTION = re.compile(r"\s*or\b(?!-)", re.I)


class EditError(ValueError):
    """An option that can't be added; the message says why."""


def option_text(option: Option) -> str:
    """An option as its line of a board: ``or tuck rock, credit 0.75``."""
    credit = "" if option.credit is None else f", credit {decimal_text(option.credit)}"
    return f"or {option.label}{credit}"


def add_option(text: str, line: CourseLine, option: Option) -> str:
    """The text with ``option`` as the last of the options of a scored line.

    The line is found by what it says, and the result is read again: it is returned only
    if it is the workout as it was, with that one option more.

    Raises
    ------
    EditError
        When the text can't be read, or has no such line.
    """
    try:
        before = parse(text).workout
        wanted = _with_option(before, line, option)
    except (NotationError, PrescriptionError) as error:
        raise EditError(str(error)) from None
    rows = re.split(r"\r\n|\r|\n", text)
    for place, row in enumerate(rows):
        if _names(row, line.line.movement):
            at = _after_options(rows, place)
            indent = row[: len(row) - len(row.lstrip())]
            added = f"{indent}  {option_text(option)}"
            changed = "\n".join([*rows[:at], added, *rows[at:]])
            try:
                if parse(changed).workout == wanted:
                    return changed
            except NotationError:
                continue
    raise EditError("No line was found to add it to.")


def _with_option(workout: Workout, line: CourseLine, option: Option) -> Workout:
    """The workout with one option more.

    Raises ``EditError`` where the line isn't the one that was meant.
    """
    number = 0
    blocks = list(workout.blocks)
    for index, block in enumerate(blocks):
        if not block.scored or not block.lines:
            continue
        number += 1
        if number != line.block:
            continue
        if line.position > len(block.lines):
            break
        old = block.lines[line.position - 1]
        if old.movement != line.line.movement:
            break
        lines = list(block.lines)
        lines[line.position - 1] = replace(old, options=(*old.options, option))
        blocks[index] = replace(block, lines=tuple(lines))
        return replace(workout, blocks=tuple(blocks))
    raise EditError("The text has changed: that line is not there.")


def _names(row: str, movement: str) -> bool:
    """Whether a row reads as a line of this movement."""
    if _OPTION.match(row):
        return False
    try:
        written = read("movement", folded(row, "movement"))["movement"]
    except (UnexpectedInput, PrescriptionError, ValueError, KeyError):
        return False
    return movement in (catalogue.canonical(written), catalogue.canonical(f"{written} hold"))


def _after_options(rows: list[str], place: int) -> int:
    """Where the next option of the line at ``place`` belongs."""
    at = place + 1
    for number, row in enumerate(rows[place + 1 :], start=place + 1):
        if _OPTION.match(row):
            at = number + 1
        elif not row.lstrip().startswith("#"):
            break
    return at
