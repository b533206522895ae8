"""Lines of a chat: where a name stands on a line of its own and the mark below it.

Copied out of a chat, what somebody said often comes as two or three lines: their name,
perhaps a time, then their words. Each line is read by ``told_line``; here it is looked one
or two lines up for the name that a line lacks.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from .course import Course
from .name_book import NameBook
from .told_line import Reading, read_line, tidy

_TIME = re.compile(
    r"[\[(]?(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4},?\s?)?\d{1,2}:\d{2}(?::\d{2})?(?:\s?[ap]m)?[\])]?",
    re.I,
)
_SURELY_MEANT = re.compile(r"\d\s?\+\s?\d|block\s?\d|\d\s?(?:rounds?|reps?)\b", re.I)
LOOKED_UP = 2
"""How many lines above a mark its name may stand."""

MOST_WORDS = 8
SENTENCE = 3
"""So many words that name nobody are no name."""


@dataclass(frozen=True, slots=True)
class ChatReading:
    """A line's reading; ``above`` is how many lines up its name stood, 0 for in itself."""

    reading: Reading
    above: int = 0


def heading(text: str, book: NameBook) -> tuple[int, str] | None:
    """Whose words follow, if a line is a name and nothing else but a time."""
    line = _TIME.sub(" ", tidy(text)[:120], count=1)
    words = line.replace(",", " ").strip(" :-–—~").split()
    if not words or len(words) > MOST_WORDS or any(sign.isdigit() for sign in line):
        return None
    found = book.find(words)
    if not found.is_sure or found.words != len(words):
        return None
    return found.ids[0], " ".join(words)


def is_time(text: str) -> bool:
    """Whether a line is a time of day and nothing else."""
    return _TIME.fullmatch(tidy(text)[:60].strip(" ,-–—")) is not None


def _lacks_a_name(reading: Reading) -> bool:
    return not (reading.is_chatter or reading.members or reading.name)


def read_chat_line(
    text: str,
    *,
    course: Course,
    book: NameBook,
    before: Sequence[str] = (),
    after: Sequence[str] = (),
    answers: Mapping[str, str] | None = None,
) -> ChatReading:
    """Read a line among its neighbours, the nearest of each side first."""
    reading = read_line(text, course=course, names=book, answers=answers)
    if reading.is_chatter or _says_nothing(reading):
        return ChatReading(_silent(reading))
    if (is_time(text) or heading(text, book)) and _heads(after, course, book):
        # ``Ana Sol 18:42`` over ``2+9 tuck``: the clock is the chat's, not a result.
        return ChatReading(_silent(reading))
    if _lacks_a_name(reading):
        for above, line in enumerate(before[:LOOKED_UP], start=1):
            if found := heading(line, book):
                return ChatReading(_given(reading, found), above)
            if not is_time(line):
                break
    return ChatReading(reading)


def _says_nothing(reading: Reading) -> bool:
    """Whether a line is a sentence with a figure in it: ``see you at 19:30``.

    It names nobody of here, and its figure is no mark or stands among more words than a name
    has. Rounds and reps or a place are what nobody writes by chance.
    """
    wrong = {problem.column for problem in reading.problems}
    if "member" not in wrong or _SURELY_MEANT.search(reading.text):
        return False
    words = f"{reading.name} {reading.note}".split()
    return "mark" in wrong or len(words) >= SENTENCE or reading.name in ("+", "-")


def _heads(after: Sequence[str], course: Course, book: NameBook) -> bool:
    """Whether the next line is a mark that lacks a name."""
    if not after:
        return False
    return _lacks_a_name(read_line(after[0], course=course, names=book))


def _silent(reading: Reading) -> Reading:
    return Reading(reading.text, is_chatter=True)


def _given(reading: Reading, found: tuple[int, str]) -> Reading:
    member, name = found
    problems = tuple(p for p in reading.problems if p.column != "member")
    return replace(reading, name=name, members=(member,), is_sure_of_member=True, problems=problems)
