"""A level as pages show it: sentences, a picture, a table, and a day to compare with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.safestring import SafeString

from scoring.core.estimation import level_words as words
from scoring.core.estimation.level_words import Person
from scoring.problems import Item
from scoring.selectors.levels import LevelPoint, LevelSeen

from .interval_bar import unbroken
from .level_picture import Step, level_picture

ROWS = 40


@dataclass(frozen=True, slots=True)
class Row:
    """A day with results, for the table."""

    date: date
    level: str
    low: int
    high: int
    results: int


@dataclass(frozen=True, slots=True)
class LevelShown:
    """``sentences`` say what the level is and from what, ``compared`` whether it rose."""

    sentences: list[str]
    compared: list[str]
    what: str
    caution: str
    picture: SafeString
    rows: list[Row]
    since: str
    fault: str
    is_known: bool


def shown(seen: LevelSeen, person: Person, *, typed: str = "", fault: str = "") -> LevelShown:
    """A level in words. ``typed`` is a day that could not be read, and ``fault`` why."""
    is_known = seen.results > 0
    return LevelShown(
        sentences=[unbroken(text) for text in _sentences(seen, person)],
        compared=[unbroken(text) for text in _compared(seen, person)],
        what=words.WHAT,
        caution=words.CAUTION,
        picture=picture_of(seen.points),
        rows=[_row(point) for point in reversed(seen.points) if point.results][:ROWS],
        since=typed if fault else (seen.compared or seen.since).isoformat(),
        fault=fault,
        is_known=is_known,
    )


def fault_text(items: list[Item]) -> str:
    """What is wrong with the day asked for, and what would be right."""
    return " ".join(f"{item.problem} {item.suggestion}" for item in items)


def _sentences(seen: LevelSeen, person: Person) -> list[str]:
    if seen.last is None:
        found = [words.nothing_text(seen.now, person)]
    else:
        found = [
            words.now_text(seen.now, person),
            words.from_text(seen.results, seen.last, seen.today),
        ]
        if seen.away_since is not None:
            found.append(words.gap_text(seen.away_since, seen.today, person))
    found.append(words.later_text(seen.later))
    found.append("" if seen.is_settled else words.UNSETTLED)
    return [text for text in found if text]


def _compared(seen: LevelSeen, person: Person) -> list[str]:
    if seen.last is None:
        return []
    if seen.improved is None or seen.risen is None or seen.compared is None:
        if seen.last == seen.first:
            return [words.ALONE]
        return [words.too_late_text(seen.last, seen.today, person)]
    return [
        words.improved_text(
            seen.improved,
            seen.risen,
            seen.compared,
            seen.today,
            person,
            is_first=seen.compared == seen.first,
        )
    ]


def _row(point: LevelPoint) -> Row:
    reading = point.reading
    return Row(
        point.date,
        words.level_text(reading),
        round(reading.low),
        round(reading.high),
        point.results,
    )


def picture_of(points: tuple[LevelPoint, ...]) -> SafeString:
    """The path as a picture; empty for less than two days."""
    if len(points) < 2:
        return SafeString("")
    first, last = points[0], points[-1]
    told = (
        f"From {words.level_text(first.reading)} on {date_format(first.date, 'j F Y')} to "
        f"{words.level_text(last.reading)}, likely between {words.between_text(last.reading)}, on "
        f"{date_format(last.date, 'j F Y')}. The table has the level after every result."
    )
    steps = [Step(p.day, p.date, p.reading, p.results) for p in points]
    return level_picture(steps, title="Level over time, with where it likely lies", told=told)
