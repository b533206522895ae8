"""Credits: what one rep of an option counts, in prescribed reps.

A choice says how a member did a line otherwise. Its credit comes, first hit first, from
the coach's line on the board, the gym's credit table, the table's load rule (same
movement, other load), and the table's figure for options nobody has set yet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction

from .catalogue import meant
from .course import Course, CourseLine
from .prescription import (
    CREDIT_SCALE,
    MAX_CREDIT,
    Load,
    PrescriptionError,
    check_credit,
    decimal_text,
)

MAX_TEXT = 2_000


class ChoiceError(ValueError):
    """A choice of option that cannot be; ``suggestion`` says what would be right."""

    def __init__(self, problem: str, suggestion: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.suggestion = suggestion


@dataclass(frozen=True, slots=True)
class CreditTable:
    """A gym's credits, one immutable version.

    Parameters
    ----------
    version
        Counts up with every change.
    options
        Credit by (movement, option label): ``("hollow rock", "tuck rock")``.
    default_option
        The credit of an option for which nobody has set one.
    load_slope, load_floor, load_ceiling
        The load rule. A share ``x`` of the prescribed load counts
        ``1 - slope * (1 - x)``, rounded half to even to two decimals, and never less
        than the floor nor more than the ceiling. With the usual slope of a half, half
        the load counts three quarters. (Common practice, no source.)
    """

    version: int = 1
    options: Mapping[tuple[str, str], Fraction] = field(default_factory=dict)
    default_option: Fraction = Fraction(4, 5)
    load_slope: Fraction = Fraction(1, 2)
    load_floor: Fraction = Fraction(1, 2)
    load_ceiling: Fraction = Fraction(5, 4)

    def __post_init__(self) -> None:
        for credit in (*self.options.values(), self.default_option, self.load_floor):
            check_credit(credit)
        if not 0 <= self.load_slope <= 1:
            raise PrescriptionError("The slope of the load rule is from 0 to 1.")
        if not 1 <= self.load_ceiling <= MAX_CREDIT:
            raise PrescriptionError("The ceiling of the load rule is from 1 to 2.")

    def for_load(self, used: Fraction, prescribed: Sequence[Fraction]) -> Fraction:
        """Credit of a load in kilograms against one or two prescribed loads.

        From the lighter to the heavier of two prescribed loads counts 1.
        """
        if min(prescribed) <= used <= max(prescribed):
            return Fraction(1)
        nearest = min(prescribed) if used < min(prescribed) else max(prescribed)
        credit = round(1 + self.load_slope * (used / nearest - 1), 2)
        return max(self.load_floor, min(self.load_ceiling, credit))

    def to_dict(self) -> dict[str, object]:
        """Plain data that JSON can hold; ``from_dict`` reads it back."""
        return {
            "version": self.version,
            "options": [
                {"movement": movement, "option": option, "credit": decimal_text(credit)}
                for (movement, option), credit in sorted(self.options.items())
            ],
            "default_option": decimal_text(self.default_option),
            "load_slope": decimal_text(self.load_slope),
            "load_floor": decimal_text(self.load_floor),
            "load_ceiling": decimal_text(self.load_ceiling),
        }

    @classmethod
    def from_dict(cls, data: Mapping[str, object]) -> CreditTable:
        """Read what ``to_dict`` wrote; missing figures take their usual values."""
        names = ("default_option", "load_slope", "load_floor", "load_ceiling")
        rows: Iterable[Mapping[str, str]] = data.get("options", [])  # type: ignore[assignment]
        return cls(
            version=int(str(data.get("version", 1))),
            options={(r["movement"], r["option"]): Fraction(r["credit"]) for r in rows},
            **{name: Fraction(str(data[name])) for name in names if name in data},
        )


@dataclass(frozen=True, slots=True)
class Choice:
    """A line done otherwise.

    Parameters
    ----------
    line
        Index of the course line.
    option
        Index of the line's option, ``None`` for the prescribed movement.
    load
        The member's own load, ``None`` for the option's or the prescribed one.
    reps
        How many of the line's reps were done so; ``None`` for all that no other
        choice of the line takes.
    """

    line: int
    option: int | None = None
    load: Load | None = None
    reps: int | None = None


@dataclass(frozen=True, slots=True)
class Portion:
    """Reps of one line done in one way. ``credit`` and ``source`` say what each counts."""

    line: int
    label: str
    prescribed: bool
    reps: int
    credit: Fraction
    source: str


def choice_label(course_line: CourseLine, choice: Choice) -> str:
    """What a member would call it: ``tuck rock``, ``goblet squat @ 12 kg``."""
    line = course_line.line
    if choice.option is None:
        return line.movement if choice.load is None else f"{line.movement} @ {choice.load}"
    option = line.options[choice.option]
    return option.label if choice.load is None else f"{option.movement} @ {choice.load}"


def is_as_written(course_line: CourseLine, choice: Choice) -> bool:
    """Whether a choice is what the line prescribes, one of its loads included."""
    if choice.option is not None:
        return False
    load = course_line.line.load
    return choice.load is None or (load is not None and choice.load.kilograms[0] in load.kilograms)


def credit_for(
    course_line: CourseLine, choice: Choice, table: CreditTable, *, above_one: bool = False
) -> tuple[Fraction, str]:
    """Credit of a choice and where it comes from, in words.

    Raises
    ------
    ChoiceError
        When the line has no such option, or no load to compare an own load with.
    """
    line = course_line.line
    if is_as_written(course_line, choice):
        return Fraction(1), "as prescribed"
    credit, source = Fraction(1), ""
    reference = line.load
    if choice.option is not None:
        if not 0 <= choice.option < len(line.options):
            raise ChoiceError(
                f"{line.movement} has no option number {choice.option + 1}.",
                f"Its options are {', '.join(o.label for o in line.options) or 'none'}.",
            )
        option = line.options[choice.option]
        reference = option.load or line.load
        known = table.options.get((line.movement, option.label)) or table.options.get(
            (line.movement, option.movement)
        )
        if option.credit is not None:
            credit, source = option.credit, "set by the coach"
        elif known is not None:
            credit, source = known, "from the credit table"
        elif option.movement == line.movement and option.load and line.load:
            credit = table.for_load(option.load.kilograms[0], line.load.kilograms)
            source = "by the load rule"
        else:
            credit, source = table.default_option, "usual figure, none was set"
    if choice.load is not None:
        if reference is None:
            raise ChoiceError(
                f"{line.movement} has no prescribed load, so {choice.load} can't be compared.",
                "Leave the load out.",
            )
        by_load = table.for_load(choice.load.kilograms[0], reference.kilograms)
        credit = round(credit * by_load * CREDIT_SCALE) / Fraction(CREDIT_SCALE)
        source = f"{source}, load rule" if source else "by the load rule"
    if credit > 1 and not above_one:
        return Fraction(1), f"{source}, at most 1 in this class"
    return credit, source


def portions(
    course: Course,
    counts: Sequence[int],
    choices: Sequence[Choice],
    table: CreditTable,
    *,
    above_one: bool = False,
) -> list[Portion]:
    """Split the reps of each line by how they were done.

    Parameters
    ----------
    counts
        Raw reps of each course line, in order.
    choices
        At most one choice of a line may leave its reps open.

    Returns
    -------
    list of Portion
        In course order; within a line first the reps without a count of their own, then
        the counted choices as given, since members step down as they tire. Portions of
        no reps are left out.

    Raises
    ------
    ChoiceError
        When the choices don't fit the reps done.
    """
    by_line: dict[int, list[Choice]] = {}
    for choice in choices:
        if not 0 <= choice.line < len(course.lines):
            raise ChoiceError("The course has no such line.", "Choose a line of the course.")
        by_line.setdefault(choice.line, []).append(choice)
    result: list[Portion] = []
    for course_line, count in zip(course.lines, counts, strict=True):
        movement = course_line.line.movement
        own = by_line.get(course_line.index)
        if not own:
            if count:
                result.append(
                    Portion(course_line.index, movement, True, count, Fraction(1), "as prescribed")
                )
            continue
        open_choices = [c for c in own if c.reps is None]
        if len(open_choices) > 1:
            labels = " and ".join(choice_label(course_line, c) for c in open_choices)
            raise ChoiceError(
                f"{labels} can't both be all of the {movement}.",
                f"Say how many reps each was: {choice_label(course_line, open_choices[0])}: 10.",
            )
        if any(c.reps is not None and c.reps < 0 for c in own):
            raise ChoiceError("Reps cannot be negative.", "Write how many were done that way.")
        counted = sum(c.reps or 0 for c in own)
        if counted > count:
            raise ChoiceError(
                f"{counted} reps of {movement} were done otherwise, but only {count} were done.",
                f"Give at most {count}.",
            )
        rest = open_choices[0] if open_choices else Choice(course_line.index)
        for choice, reps in [(rest, count - counted)] + [
            (c, c.reps) for c in own if c.reps is not None
        ]:
            credit, source = credit_for(course_line, choice, table, above_one=above_one)
            if reps:
                label = choice_label(course_line, choice)
                written = is_as_written(course_line, choice)
                result.append(Portion(course_line.index, label, written, reps, credit, source))
    return result


_COUNTED = re.compile(r"(.*\S)\s*:\s*(\d{1,7})(?:\s*reps?)?", re.S)
_LOADED = re.compile(r"(.*?)\s*@\s*(\d{1,4}(?:[.,]\d{1,3})?)\s*(kg|kgs|lb|lbs)\s*", re.I | re.S)
_NUMBERED = re.compile(r"(\d{1,3}\.\d{1,3})\s+(.*)", re.S)


def parse_choices(
    course: Course, text: str, counts: Sequence[int] | None = None
) -> tuple[Choice, ...]:
    """Read ``tuck rock; knee push-up: 10; goblet squat @ 12 kg``.

    An option holds for every line that offers it, unless a line's number stands before
    it (``2.1 ring row``). A count (``: 10``) is spread over those lines in course order,
    as far as ``counts``, the reps done of each line, allow.

    Raises
    ------
    ChoiceError
        When a name is no option of this course, with a suggestion where one is near.
    """
    if len(text) > MAX_TEXT:
        raise ChoiceError("That is too long for options.", "Write names separated by ';'.")
    found: list[Choice] = []
    for raw_part in text.split(";"):
        part = " ".join(raw_part.split())
        if not part:
            continue
        count: int | None = None
        if match := _COUNTED.fullmatch(part):
            part, count = match[1], int(match[2])
        matches = _matches(course, part)
        if count is None:
            found += matches
            continue
        if counts is None or len(matches) == 1:
            found.append(_with_reps(matches[0], count))
            continue
        left = count
        for choice in matches:
            take = min(left, counts[choice.line])
            left -= take
            if take:
                found.append(_with_reps(choice, take))
        if left:
            raise ChoiceError(
                f"{count} reps of {part}, but only {count - left} could be.",
                f"Write at most {count - left}.",
            )
    return tuple(found)


def _with_reps(choice: Choice, reps: int) -> Choice:
    return Choice(choice.line, choice.option, choice.load, reps)


def _matches(course: Course, part: str) -> list[Choice]:
    number = None
    if match := _NUMBERED.fullmatch(part):
        number, part = match[1], match[2]
    name, load = part.lower(), None
    if match := _LOADED.fullmatch(part):
        name = match[1].lower()
        unit = "lb" if match[3].lower().startswith("lb") else "kg"
        try:
            load = Load((Fraction(match[2].replace(",", ".")),), unit)
        except PrescriptionError as error:
            raise ChoiceError(str(error), "Write a load such as 12 kg.") from None
    lines = [line for line in course.lines if number in (None, line.number)]
    named = [o.movement for line in lines for o in line.line.options]
    name = meant(name, [*named, *(line.line.movement for line in lines)]) if name else name
    listed = [
        Choice(line.index, position)
        for line in lines
        for position, option in enumerate(line.line.options)
        if name == option.movement
        and (load is None or (option.load and load.kilograms == option.load.kilograms))
    ]
    if listed:
        if load is None:
            seen: set[int] = set()
            for choice in listed:
                if choice.line in seen:
                    raise ChoiceError(
                        f"{part!r} is offered with more than one load.",
                        "Name the load too: " + choice_label(course.lines[choice.line], choice),
                    )
                seen.add(choice.line)
        return listed
    if load is not None:
        own = [
            Choice(line.index, None, load)
            for line in lines
            if name in ("", line.line.movement) and line.line.load is not None
        ] + [
            Choice(line.index, position, load)
            for line in lines
            for position, option in enumerate(line.line.options)
            if name == option.movement != line.line.movement and (option.load or line.line.load)
        ]
        if own:
            return own
    written = [Choice(line.index) for line in lines if name == line.line.movement]
    if written and load is None:
        return written
    labels = [option.label for line in lines for option in line.line.options]
    close = get_close_matches(name, labels, 1, 0.6)
    offered = ", ".join(dict.fromkeys(labels)) or "no options; leave it out"
    raise ChoiceError(
        f"{part!r} is not an option of this class.",
        f"Did you mean {close[0]}?" if close else f"It offers {offered}.",
    )


def choices_words(course: Course, text: str) -> str:
    """What ``choices_text`` wrote as a person says it: no numbers of lines, each once."""
    numbers = {line.number for line in course.lines}
    told = []
    for part in filter(None, text.split("; ")):
        number, _, rest = part.partition(" ")
        told.append(rest if number in numbers else part)
    return ", ".join(dict.fromkeys(told))


def choices_text(course: Course, choices: Sequence[Choice]) -> str:
    """Choices as text that ``parse_choices`` reads back to the same choices."""
    parts = []
    for choice in choices:
        line = course.lines[choice.line]
        count = "" if choice.reps is None else f": {choice.reps}"
        parts.append(f"{line.number} {choice_label(line, choice)}{count}")
    return "; ".join(parts)
