"""What stands behind the mark in a told line: options, loads, effort, splits, a word.

Names of options may be cut short, ``tuck`` for ``tuck rock``, where only one fits.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import get_close_matches

from .catalogue import find
from .course import Course
from .credits import ChoiceError, parse_choices
from .marks import MarkError, parse_clock
from .name_book import fold

_PARTS = re.compile(r"[,;&]|\band\b|\s\+\s", re.I)
_EFFORT = re.compile(r"\b(?:effort|rpe|felt like)\s?:?\s?(\d{1,3})(?:\s?/\s?10)?\b", re.I)
_OUT_OF_TEN = re.compile(r"(?<![\w/.])(\d{1,2})\s?/\s?10(?![\w/])")
_SPLITS = re.compile(r"\bsplits?:?((?:[\s;,]+(?:and\s)?[\d:.]{3,9})+)", re.I)
_COUNTED = re.compile(
    r"(\d{1,5})\s?(?:x|×|reps? of)?\s(?=[^\W\d])(.{1,80})|(.{1,80}?)\s?[:x×]\s?(\d{1,5})"
)
_LOAD = re.compile(r"(.{0,80}?)\s?@?\s?(\d{1,4}(?:[.,]\d{1,3})?)\s?(kgs?|lbs?)\s?(.{0,80})", re.I)
_NUMBER = re.compile(r"(\d{1,3}\.\d{1,3})\s(.{1,80})")
_AS_WRITTEN = frozenset({"as prescribed", "prescribed", "as written", "all as prescribed"})
ALIKE = 0.7

AS_NOTE = "keep it as a note"
"""The answer to a doubt by which a part of a line is kept as the member's note."""

SCALED = frozenset(("scaled", "scaled it", "with options", "option", "options", "both options"))
_HURTS = re.compile(
    r"\b(?:hurt|hurts|hurting|pain|pains|painful|sore|ache|aches|aching|injur\w*|twinge\w*"
    r"|strain\w*|dizzy|faint\w*|chest|numb)\b",
    re.I,
)
_CHANGED = re.compile(
    r"\b(?:half|some|rest|second|first|last|lighter|heavier|easier|harder|modified|swapped"
    r"|instead|without|no|only|just|option|options|scaled)\b",
    re.I,
)
_ANOTHER = re.compile(r"\d\s?\+\s?\d|\d:\d\d|\d\s?(?:reps|rounds|rds)\b", re.I)


@dataclass(frozen=True, slots=True)
class ToldProblem:
    """What can't be kept, in which column, and what would be right."""

    column: str
    problem: str
    suggestion: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """What has to be asked about the part ``text`` of a line. Without ``choices`` it can
    only be left out or written anew."""

    column: str
    text: str
    words: str
    choices: tuple[str, ...]


@dataclass(slots=True)
class Told:
    """What was read behind a mark."""

    options: str = ""
    splits: str = ""
    effort: int | None = None
    note: str = ""
    problems: list[ToldProblem] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def read_options(after: str, course: Course, answers: dict[str, str]) -> Told:
    """Read the words behind a mark; ``answers`` settles doubts by the part they are about."""
    told = Told()
    options: list[str] = []
    notes: list[str] = []
    if match := _SPLITS.search(after):
        _read_splits(match[1], course, told)
        after = after[: match.start()] + "," + after[match.end() :]
    if match := _EFFORT.search(after) or _OUT_OF_TEN.search(after):
        _read_effort(int(match[1]), told)
        after = after[: match.start()] + "," + after[match.end() :]
    for raw in _PARTS.split(after):
        part = " ".join(raw.strip(" .:-–—()!*").split())
        if not part or fold(part) in _AS_WRITTEN:
            continue
        if part in answers:
            if answers[part] == AS_NOTE:
                notes.append(part)
            elif answers[part]:
                options.append(answers[part])
            continue
        if _parses(course, part):
            options.append(part)
            continue
        found = _meanings(course, part)
        if len(found) == 1:
            options.append(found[0])
        elif found:
            told.doubts.append(
                Doubt("options", part, f"“{part}” could be {_either(found)}.", tuple(found))
            )
        elif fold(part) in SCALED:
            offered = tuple(_labels(course))
            told.doubts.append(Doubt("options", part, "Scaled how?", offered))
        elif doubt := _not_a_mere_note(course, part):
            told.doubts.append(doubt)
        elif near := get_close_matches(fold(part), _folded(course), 2, ALIKE):
            labels = tuple(_folded(course)[key] for key in near)
            told.doubts.append(Doubt("options", part, f"“{part}” is no option here.", labels))
        else:
            notes.append(part)
    told.options = "; ".join(dict.fromkeys(options))
    told.note = ", ".join(notes)
    return told


def _not_a_mere_note(course: Course, part: str) -> Doubt | None:
    """What must not go by as a note: pain, another result, or work done otherwise, which
    would count as prescribed."""
    if _HURTS.search(part):
        return Doubt(
            "note", part,
            f"“{part}”: ask whether something hurts. As a note it is seen beside the result only.",
            (AS_NOTE,),
        )  # fmt: skip
    if _ANOTHER.search(part):
        return Doubt(
            "note", part, f"“{part}” looks like another result. Give it a line of its own.",
            (AS_NOTE,),
        )  # fmt: skip
    words = fold(part).split()
    own = {token for line in course.lines for token in fold(line.line.movement).split()}
    own |= {token for label in _labels(course) for token in fold(label).split()}
    is_work = (
        _CHANGED.search(part)
        or any(sign.isdigit() for sign in part)
        or own & set(words)
        or any(find(" ".join(words[:count])) for count in range(1, min(4, len(words)) + 1))
    )
    if not is_work:
        return None
    return Doubt(
        "options", part, f"“{part}” is no option here, and would count as prescribed.",
        (*_labels(course), AS_NOTE),
    )  # fmt: skip


def _read_effort(number: int, told: Told) -> None:
    if number > 10:
        told.problems.append(
            ToldProblem("effort", "Effort is from 0 to 10.", "Leave it out if unsure.")
        )
    else:
        told.effort = number


def _read_splits(text: str, course: Course, told: Told) -> None:
    times = [part for part in re.split(r"[\s;,]+", text) if part and part != "and"]
    try:
        for part in times:
            parse_clock(part)
    except MarkError as error:
        told.problems.append(ToldProblem("splits", error.problem, error.suggestion))
        return
    if len(times) > len(course.blocks):
        told.problems.append(
            ToldProblem(
                "splits",
                f"There are {len(times)} splits.",
                f"The course has {len(course.blocks)} blocks.",
            )
        )
        return
    told.splits = "; ".join(times)


def _parses(course: Course, part: str) -> bool:
    try:
        return bool(parse_choices(course, part))
    except ChoiceError:
        return False


def _labels(course: Course) -> list[str]:
    """The options of a course as they are written, each once."""
    return list(
        dict.fromkeys(option.label for line in course.lines for option in line.line.options)
    )


def _folded(course: Course) -> dict[str, str]:
    return {fold(label): label for label in reversed(_labels(course))}


def _meanings(course: Course, part: str) -> list[str]:
    """Every option that a part, perhaps cut short, could mean, as texts that are read."""
    number, count = "", ""
    if match := _NUMBER.fullmatch(part):
        number, part = match[1] + " ", match[2]
    if match := _LOAD.fullmatch(part):
        amount = (
            f"{match[2].replace(',', '.')} {'lb' if match[3].lower().startswith('lb') else 'kg'}"
        )
        found = _with_load(course, fold(f"{match[1]} {match[4]}"), amount)
        return [number + text for text in found if _parses(course, number + text)]
    if match := _COUNTED.fullmatch(part):
        part, count = (match[2], match[1]) if match[1] else (match[3], match[4])
    words = fold(part).split()
    found = [label for label in _labels(course) if words and _cut_short(words, label)]
    texts = [number + label + (f": {count}" if count else "") for label in found]
    return [text for text in texts if _parses(course, text)]


def _with_load(course: Course, words: str, amount: str) -> list[str]:
    """Movements and options that could have been done with a load, told with it."""
    wanted = words.split()
    found = []
    for line in course.lines:
        names = [line.line.movement] if line.line.load else []
        names += [o.movement for o in line.line.options if o.load or line.line.load]
        found += [f"{n} @ {amount}" for n in names if not wanted or _cut_short(wanted, n)]
    return list(dict.fromkeys(found))


def _cut_short(words: list[str], label: str) -> bool:
    """Whether every word begins one of the label's, each of them once."""
    left = fold(label).split()
    for word in words:
        hit = next((token for token in left if token.startswith(word)), None)
        hit = hit or next((token for token in left if word == token + "s"), None)
        if hit is None:
            return False
        left.remove(hit)
    return True


def _either(found: list[str]) -> str:
    return " or ".join(found[:4])
