"""What a coach asks to compare: by what, and over which days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from scoring.problems import Item, Refused

BY = {
    "class": "class",
    "week": "week",
    "coach": "coach",
    "hour": "time of day",
    "weekday": "day of the week",
}
USUAL_DAYS = 12 * 7
MOST_DAYS = 366


@dataclass(frozen=True, slots=True)
class Asked:
    """``by`` is a key of ``BY``; both days belong to the period, by the gym's clock."""

    by: str
    first: date
    last: date


def usual(today: date) -> Asked:
    """The last twelve weeks by class."""
    return Asked("class", today - timedelta(days=USUAL_DAYS - 1), today)


def read_asked(*, by: str, first: str, last: str, today: date) -> Asked:
    """What was typed; what is left empty is as usual. Raises ``Refused``."""
    items: list[Item] = []
    if by and by not in BY:
        items.append(Item("by", f"“{by[:40]}” is nothing to compare by.", "Pick one of the list."))
    end = _day("to", last, items) or today
    start = _day("from", first, items) or end - timedelta(days=USUAL_DAYS - 1)
    if not items and start > end:
        items.append(Item("from", "The first day is after the last.", "Swap the two."))
    if not items and (end - start).days >= MOST_DAYS:
        items.append(Item("from", "That is more than a year.", "Pick at most 366 days."))
    if items:
        raise Refused(*items)
    return Asked(by or "class", start, end)


def _day(column: str, text: str, items: list[Item]) -> date | None:
    if not text.strip():
        return None
    try:
        day = date.fromisoformat(text.strip())
        if not 2000 <= day.year <= 2200:
            raise ValueError
    except ValueError:
        items.append(Item(column, f"“{text[:40]}” is no day.", "Write it like 2026-11-24."))
        return None
    return day
