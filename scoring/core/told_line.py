"""Reading what somebody told in one line: ``name 2+9 tuck, knee``.

Whose result, which mark, which options, how hard it felt; and what of it is doubtful or
can't be read. Every step looks at a line a fixed number of times, and lines are short.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

from .course import Course
from .credits import ChoiceError, parse_choices
from .marks import MarkError, examples, mark_text, parse_mark
from .name_book import NOBODY, Found, NameBook, fold
from .prescription import BlockKind
from .told_options import SCALED, Doubt, ToldProblem, read_options

MAX_LINE = 300

_FILLER_WORDS = """
    a all and at did done finished for from got had here hi i in is made me my of on reached
    result score scored so stopped the then time to total was with = - – — : ,
"""
_FILLER = frozenset(_FILLER_WORDS.split())
_STAMP = re.compile(r"[\[(]?\d{1,2}:\d{2}(?::\d{2})?(?:\s?[ap]m)?[\])]?\s*[-–:,]?\s+(?=\S)", re.I)
_DATED = re.compile(r"[\[(]?\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4},?\s+")
_FIGURE = re.compile(
    r"(?P<rounds>\d{1,7}\s?(?:rounds?|rds?|r)?\s?\+\s?\d{1,7}(?:\s?reps?\b)?)"
    r"|(?P<spoken>\d{1,7}\s?(?:rounds?|rds?)(?:\s?(?:and|,|&)?\s?\d{1,7}(?:\s?reps?\b)?)?)"
    r"|(?P<place>block\s?\d{1,3}\s?/[^/]{1,40}/[^/]{1,60}/\s?\d{1,7}(?:\s?reps?\b)?)"
    r"|(?P<each>\d{1,6}(?:\s?/\s?\d{1,6})+)"
    r"|(?P<load>\d{1,4}(?:[.,]\d{1,3})?\s?(?:kgs?|lbs?)\b(?:\s?(?:x|×|for)\s?\d{1,3}\b)?)"
    r"|(?P<clock>(?:\d{1,2}:)?\d{1,4}:\d{2}(?:[.,]\d{1,2})?)"
    r"|(?P<reps>\d{1,9}\s?(?:raw\s)?reps?\b)"
    r"|(?P<number>\d{1,6})(?![\d:.,/+]|\s?[+/])",
    re.I,
)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line says.

    ``members`` are ids, the likeliest first; ``mark``, ``options`` and ``splits`` are texts
    that the core reads; ``note`` is what was said besides. ``is_chatter`` when nothing in
    the line could be a mark.
    """

    text: str
    name: str = ""
    members: tuple[int, ...] = ()
    is_sure_of_member: bool = False
    mark: str = ""
    options: str = ""
    splits: str = ""
    effort: int | None = None
    note: str = ""
    problems: tuple[ToldProblem, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    is_chatter: bool = False

    @property
    def is_clear(self) -> bool:
        """Whether it can be kept as it is read, without asking."""
        return not (self.problems or self.doubts or self.is_chatter) and self.is_sure_of_member


def tidy(text: str) -> str:
    """A line without emoji, signs that can't be seen, and doubled spaces."""
    kept = []
    for sign in text:
        kind = unicodedata.category(sign)
        kept.append(" " if kind[0] in "CZ" or kind in ("So", "Sk", "Mn") else sign)
    return " ".join("".join(kept).split())


def read_line(
    text: str,
    *,
    course: Course,
    names: NameBook | Mapping[int, str],
    answers: Mapping[str, str] | None = None,
) -> Reading:
    """Read one line against a course and the names of a gym.

    Parameters
    ----------
    names
        A ``NameBook``, or names by id; make a book once for many lines.
    answers
        What was answered to the doubts of an earlier reading, by ``Doubt.text``: one of its
        choices, or nothing to leave that part out.
    """
    book = names if isinstance(names, NameBook) else NameBook(names)
    line = tidy(text)
    if len(line) > MAX_LINE:
        return _no_mark(line[:MAX_LINE], course, "This line is too long for a result.")
    line = _DATED.sub("", line, count=1) if _DATED.match(line) else line
    found = _figure(line, course)
    if found is None:
        return _no_mark(line, course, "There is no mark in this line.")
    before, figure, after = (
        _STAMP.sub("", line[: found.start()], count=1),
        found,
        line[found.end() :],
    )
    return _read(line, before, figure, after, course, book, dict(answers or {}))


def _no_mark(line: str, course: Course, problem: str) -> Reading:
    said = ToldProblem("mark", problem, f"Write name and mark: {examples(course)}.")
    return Reading(line, problems=(said,), is_chatter=True)


def _figure(line: str, course: Course) -> re.Match[str] | None:
    """The figure that is the mark. A time at the start of the line is a chat's clock if
    another figure follows it."""
    kinds = {block.block.kind for block in course.blocks}
    start = 0
    stamp = _STAMP.match(line)
    if stamp and _FIGURE.search(line, stamp.end()):
        start = stamp.end()
    plain = None
    for match in _FIGURE.finditer(line, start):
        kind = match.lastgroup
        if match.start() and (line[match.start() - 1].isalnum() or line[match.start() - 1] in "@."):
            continue
        if kind == "load" and BlockKind.MAX_LOAD not in kinds:
            continue  # a load that was used, not the mark
        if kind == "each" and BlockKind.INTERVALS not in kinds:
            continue
        if kind == "number":
            plain = plain or match
            continue
        return match
    return plain


def _mark(figure: re.Match[str], course: Course) -> tuple[str, tuple[str, ...]]:
    """The figure as a mark's text, and what else it could mean."""
    told = " ".join(figure[0].split())
    if figure.lastgroup == "spoken":
        numbers = re.findall(r"\d+", told)
        return (f"{numbers[0]}+{numbers[1]}" if len(numbers) > 1 else f"{numbers[0]} rounds"), ()
    if figure.lastgroup == "number":
        if {block.block.kind for block in course.blocks} == {BlockKind.MAX_LOAD}:
            return told + " kg", (told + " kg", told + " lb")
        if course.tail and int(told) <= 50:
            return told + " rounds", (told + " rounds", told + " reps")
        return told + " reps", (told + " reps",)
    return told, ()


def _read(
    line: str,
    before: str,
    figure: re.Match[str],
    after: str,
    course: Course,
    book: NameBook,
    answers: dict[str, str],
) -> Reading:
    problems: list[ToldProblem] = []
    doubts: list[Doubt] = []
    name, found, rest = _name(before, book)
    if not found.ids and not name:
        name, found, after = _name_after(after, book)
    if not found.ids:
        problems.append(
            ToldProblem(
                "member",
                f"Nobody here is called {name[:60]!r}." if name else "It doesn't say whose it is.",
                "Begin the line with a name of this gym.",
            )
        )
    leftover = " ".join(word for word in rest.split() if word.casefold() not in _FILLER)
    if fold(leftover) in SCALED:
        leftover, after = "", f"{leftover}, {after}"
    if leftover and answers.get(leftover) != "":
        doubts.append(Doubt("note", leftover, f"“{leftover}” was not understood.", ()))
    told, meanings = _mark(figure, course)
    told = answers.get(figure[0], told) or told
    if meanings and figure[0] not in answers:
        doubts.append(
            Doubt("mark", figure[0], f"Is “{figure[0]}” {' or '.join(meanings)}?", meanings)
        )
    mark = ""
    try:
        mark = mark_text(course, parse_mark(course, told))
    except MarkError as error:
        problems.append(ToldProblem("mark", error.problem, error.suggestion))
    part = read_options(after, course, answers)
    problems += part.problems
    doubts += part.doubts
    if part.options and not part.problems:
        try:
            parse_choices(course, part.options)
        except ChoiceError as error:
            problems.append(ToldProblem("options", error.problem, error.suggestion))
    return Reading(
        text=line,
        name=name,
        members=found.ids,
        is_sure_of_member=found.is_sure,
        mark=mark,
        options=part.options,
        splits=part.splits,
        effort=part.effort,
        note=part.note,
        problems=tuple(problems),
        doubts=tuple(doubts),
    )


def _name(before: str, book: NameBook) -> tuple[str, Found, str]:
    """The name in front of the mark, whom it means, and what else stands there.

    Before a colon stands whoever wrote a chat's line, so nothing else is looked at there.
    """
    sender, colon, rest = before.partition(":")
    if not colon:
        sender, rest = before, ""
    words = sender.replace(",", " ").split()
    while words and words[0].casefold() in _FILLER | {"@"}:
        words.pop(0)
    if not words:
        return "", NOBODY, rest
    found = book.find([word.strip("@#*~-–—") or word for word in words])
    if not found.ids:
        return " ".join(words).strip(" -–—"), found, rest
    used = " ".join(words[: found.words])
    return used, found, " ".join(words[found.words :]) + " " + rest


def _name_after(after: str, book: NameBook) -> tuple[str, Found, str]:
    words = after.strip(" ,;:-–—").split()
    while words and words[0].casefold() in _FILLER:
        words.pop(0)
    found = book.find([word.strip(",;") for word in words])
    if not found.ids or not found.is_sure:
        return "", NOBODY, after
    return " ".join(words[: found.words]).strip(",;"), found, " ".join(words[found.words :])
