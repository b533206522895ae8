"""Reading what somebody wants a credit table to say."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from dataclasses import dataclass
from fractions import Fraction

from scoring.core import catalogue
from scoring.core.credit_changes import FIGURES, Entry, changed, value_of
from scoring.core.credits import CreditTable
from scoring.core.names import plain
from scoring.core.prescription import Load, PrescriptionError, check_name, decimal_text
from scoring.problems import Item, Refused, refuse, storable

MAX_ENTRIES = 100
MAX_REASON = 200

_DECIMAL = re.compile(r"\d{1,3}(?:[.,]\d{1,6})?")
_LOADED = re.compile(r"(.+?) ?@ ?(\d{1,4}(?:[.,]\d{1,3})?) ?(kg|lb)")


@dataclass(frozen=True, slots=True)
class EntryInput:
    """What is asked for: ``credit`` as typed, ``None`` to take an option out of the table.

    ``movement`` is empty for a figure of the table, named by ``option``. ``column`` is
    where a page or a body has it.
    """

    movement: str
    option: str
    credit: str | None
    column: str = "entries"


def read_reason(reason: str) -> str:
    """The reason as it is kept. Raises ``Refused`` for none."""
    why = " ".join(reason.split())
    if not why or len(why) > MAX_REASON or not storable(why):
        raise refuse(
            "reason",
            "Say why the credits change.",
            f"A few words, up to {MAX_REASON} letters. Members read it beside their result.",
        )
    return why


def _credit(given: EntryInput) -> Fraction | None:
    if given.credit is None:
        return None
    text = given.credit.strip()
    if not _DECIMAL.fullmatch(text):
        raise refuse(given.column, f"{text[:20]!r} is no credit.", "Write a number such as 0.85.")
    return Fraction(text.replace(",", "."))


def _label(text: str) -> str:
    """The label of an option as boards write it: ``ring row``, ``goblet squat @ 12 kg``."""
    match = _LOADED.fullmatch(text)
    if not match:
        name = catalogue.canonical(text)
        check_name(name)
        return name
    name = catalogue.canonical(match[1])
    check_name(name)
    return f"{name} @ {Load((Fraction(match[2].replace(',', '.')),), match[3])}"


def read_entry(given: EntryInput, known: Container[str] = frozenset()) -> Entry:
    """One entry, its names as boards write them.

    ``known`` are names the gym's boards use: such a one is right however it is spelt.
    Raises ``Refused`` for a name that names nothing or a credit that cannot be.
    """
    movement, option = plain(given.movement).lower(), plain(given.option).lower()
    if not movement:
        if option not in FIGURES or given.credit is None:
            raise refuse(
                given.column, "That is no figure of the table.", f"It has {', '.join(FIGURES)}."
            )
        return Entry("", option, _credit(given))
    try:
        movement, option = catalogue.canonical(movement), _label(option)
        check_name(movement)
    except PrescriptionError as error:
        raise refuse(given.column, str(error), "Write it as on a board.") from None
    for name in (movement, option.partition(" @ ")[0]):
        near = None if name in known else catalogue.suggest(name)
        if near:
            raise refuse(given.column, f"{name!r} is not known.", f"Did you mean {near}?")
    if movement == option:
        raise refuse(
            given.column,
            f"{movement} done as {option} is as prescribed, and counts 1.",
            "Name another movement, or a load such as goblet squat @ 12 kg.",
        )
    entry = Entry(movement, option, _credit(given))
    try:
        changed(CreditTable(), [entry])
    except PrescriptionError as error:
        raise refuse(given.column, str(error), "Write a number such as 0.85.") from None
    return entry


def read_entries(
    given: Iterable[EntryInput], table: CreditTable, known: Container[str] = frozenset()
) -> list[Entry]:
    """Everything that would differ from ``table``, each thing once.

    Raises ``Refused`` with one item for every entry that can't be read, and where nothing
    would change.
    """
    items: list[Item] = []
    found: dict[tuple[str, str], Entry] = {}
    listed = list(given)
    if len(listed) > MAX_ENTRIES:
        raise refuse("entries", "That is too much at once.", f"At most {MAX_ENTRIES} credits.")
    for each in listed:
        try:
            entry = read_entry(each, known)
            if found.setdefault(entry.key, entry) != entry:
                raise refuse(each.column, f"{entry.option} is set twice.", "Set it once.")
        except Refused as refused:
            items += refused.items
    if items:
        raise Refused(*items)
    entries = [entry for entry in found.values() if value_of(table, entry.key) != entry.credit]
    if not entries:
        raise refuse("entries", "Nothing would change.", "Write a new credit beside an option.")
    try:
        changed(table, entries)
    except PrescriptionError as error:
        raise refuse("entries", str(error), "Usual figures are 0.8, 0.5, 0.5 and 1.25.") from None
    return entries


def words_of(entry: Entry) -> str:
    """An entry as a person says it: ``tuck rock for hollow rock: 0.85``."""
    value = "taken out of the table" if entry.credit is None else decimal_text(entry.credit)
    what = f"{entry.option} for {entry.movement}" if entry.movement else entry.option
    return f"{what}: {value}"
