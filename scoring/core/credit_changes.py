"""Changes of a credit table: what one makes of it, what it touches, how it is undone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from .course import Course, CourseLine
from .credits import Choice, CreditTable, credit_for
from .prescription import decimal_text

FIGURES = ("default_option", "load_slope", "load_floor", "load_ceiling")
"""The figures of a table that belong to no single option, by their names."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing a change sets.

    ``movement`` and ``option`` name an option of the table; for a figure of ``FIGURES``
    ``movement`` is empty and ``option`` its name. ``credit`` is the new value; ``None``
    takes an option out of the table, so that it counts the usual figure again.
    """

    movement: str
    option: str
    credit: Fraction | None

    @property
    def key(self) -> tuple[str, str]:
        """What is set, whatever to."""
        return self.movement, self.option

    def to_dict(self) -> dict[str, str | None]:
        """Plain data that JSON can hold; ``entry_of`` reads it back."""
        credit = None if self.credit is None else decimal_text(self.credit)
        return {"movement": self.movement, "option": self.option, "credit": credit}


def entry_of(data: Mapping[str, str | None]) -> Entry:
    """Read what ``Entry.to_dict`` wrote."""
    credit = data["credit"]
    return Entry(
        str(data["movement"]), str(data["option"]), None if credit is None else Fraction(credit)
    )


@dataclass(frozen=True, slots=True)
class Step:
    """How one value went from one table to another; ``None`` where it stood in none."""

    movement: str
    option: str
    old: Fraction | None
    new: Fraction | None


def value_of(table: CreditTable, key: tuple[str, str]) -> Fraction | None:
    """What a table says of a key of ``Entry``; ``None`` for an option it doesn't name."""
    movement, option = key
    if movement:
        return table.options.get(key)
    value: Fraction = getattr(table, option)
    return value


def changed(table: CreditTable, entries: Iterable[Entry]) -> CreditTable:
    """A table with some entries set, under the same version number.

    Raises ``PrescriptionError`` for a credit or a figure that cannot be.
    """
    options = dict(table.options)
    figures: dict[str, Fraction] = {}
    for entry in entries:
        if not entry.movement:
            if entry.credit is None or entry.option not in FIGURES:
                raise ValueError(f"{entry.option!r} is no figure of a credit table")
            figures[entry.option] = entry.credit
        elif entry.credit is None:
            options.pop(entry.key, None)
        else:
            options[entry.key] = entry.credit
    # mypy takes the figures' names for any field's.
    return replace(table, options=options, **figures)  # type: ignore[arg-type]


def steps(old: CreditTable, new: CreditTable) -> tuple[Step, ...]:
    """Every value that differs between two tables: options by name, then the figures."""
    keys = sorted(old.options.keys() | new.options.keys()) + [("", name) for name in FIGURES]
    found = (Step(*key, value_of(old, key), value_of(new, key)) for key in keys)
    return tuple(step for step in found if step.old != step.new)


def says_the_same(old: CreditTable, new: CreditTable) -> bool:
    """Whether two tables differ in nothing but their version."""
    return not steps(old, new)


def set_back(
    before: CreditTable, after: CreditTable, now: CreditTable
) -> tuple[tuple[Entry, ...], tuple[Step, ...]]:
    """What undoes the change from ``before`` to ``after``, in the table of ``now``.

    Returns
    -------
    entries : tuple of Entry
        The change's values set back to what they were.
    conflicts : tuple of Step
        Values of the change that a later one set again, from what the change made of them
        to what stands now. They stay.
    """
    entries, conflicts = [], []
    for step in steps(before, after):
        key = (step.movement, step.option)
        current = value_of(now, key)
        if current == step.new:
            entries.append(Entry(*key, step.old))
        elif current != step.old:
            conflicts.append(Step(*key, step.new, current))
    return tuple(entries), tuple(conflicts)


def _moving_options(line: CourseLine, old: CreditTable, new: CreditTable) -> list[int]:
    return [
        number
        for number in range(len(line.line.options))
        if credit_for(line, Choice(line.index, number), old, above_one=True)[0]
        != credit_for(line, Choice(line.index, number), new, above_one=True)[0]
    ]


def _load_rule(table: CreditTable) -> tuple[Fraction, Fraction, Fraction]:
    return table.load_slope, table.load_floor, table.load_ceiling


def touches(course: Course, old: CreditTable, new: CreditTable) -> bool:
    """Whether any result on a course could count otherwise by ``new`` than by ``old``.

    Never ``False`` where one could; ``True`` may still move nobody.
    """
    has_load = any(
        line.line.load or any(option.load for option in line.line.options) for line in course.lines
    )
    if has_load and _load_rule(old) != _load_rule(new):
        return True
    return any(_moving_options(line, old, new) for line in course.lines)


def moves(
    course: Course,
    choices: Sequence[Choice],
    old: CreditTable,
    new: CreditTable,
    *,
    above_one: bool = False,
) -> bool:
    """Whether some choice has another credit by ``new``.

    Nothing else of a score comes from the table, so where this is ``False`` it stays.
    """
    return any(
        credit_for(course.lines[choice.line], choice, old, above_one=above_one)[0]
        != credit_for(course.lines[choice.line], choice, new, above_one=above_one)[0]
        for choice in choices
    )


def touched_options(course: Course, keys: Iterable[tuple[str, str]]) -> tuple[list[str], list[str]]:
    """The labels of a course's options that some keys of a table name.

    Returns
    -------
    open : list of str
        Options whose credit comes from the table.
    fixed : list of str
        Options that carry a credit on the board, where the table has no say.
    """
    wanted = set(keys)
    found: list[str] = []
    fixed: list[str] = []
    for line in course.lines:
        for option in line.line.options:
            names = {(line.line.movement, option.label), (line.line.movement, option.movement)}
            if names & wanted:
                (found if option.credit is None else fixed).append(option.label)
    return list(dict.fromkeys(found)), list(dict.fromkeys(fixed))
