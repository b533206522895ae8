"""Training over weeks: session load, monotony, strain, and reps by movement.

Session load is effort (0 to 10) × minutes; monotony is the mean daily load of a week over
its standard deviation, rest days counting 0; strain is the weekly load × monotony: Foster
1998, Med Sci Sports Exerc 30(7):1164; Foster and others 2001, J Strength Cond Res
15(1):109. The papers don't say which standard deviation; here it is the sample's (n − 1).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import sqrt

from .iso_week import IsoWeek

DAYS = 7


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days from a Monday (ISO 8601 weeks). ``daily`` are session loads.

    ``monotony`` and ``strain`` are ``None`` where every day had the same load, for then
    nothing varies and the quotient has no value.
    """

    monday: date
    daily: tuple[Fraction, ...]

    @property
    def load(self) -> Fraction:
        return sum(self.daily, Fraction(0))

    @property
    def monotony(self) -> float | None:
        mean = float(self.load) / DAYS
        spread = sqrt(sum((float(load) - mean) ** 2 for load in self.daily) / (DAYS - 1))
        return mean / spread if spread > 0 else None

    @property
    def strain(self) -> float | None:
        monotony = self.monotony
        return None if monotony is None else float(self.load) * monotony


def session_load(effort: int, seconds: Fraction) -> Fraction:
    """Effort (0 to 10) × minutes."""
    return effort * seconds / 60


def weeks(sessions: Iterable[tuple[date, Fraction]]) -> tuple[Week, ...]:
    """Loads by week, from the first week with a session to the last, none left out."""
    daily: dict[date, Fraction] = {}
    for day, load in sessions:
        daily[day] = daily.get(day, Fraction(0)) + load
    if not daily:
        return ()
    monday, last = IsoWeek.of(min(daily)).monday, IsoWeek.of(max(daily)).monday
    found = []
    while monday <= last:
        days = (monday + timedelta(days=n) for n in range(DAYS))
        found.append(Week(monday, tuple(daily.get(day, Fraction(0)) for day in days)))
        monday += timedelta(days=DAYS)
    return tuple(found)


def by_week(
    done: Iterable[tuple[date, Mapping[str, int]]],
) -> tuple[tuple[date, dict[str, int]], ...]:
    """Counts by name summed over each week, from the first week to the last."""
    summed: dict[date, dict[str, int]] = {}
    for day, counts in done:
        week = summed.setdefault(IsoWeek.of(day).monday, {})
        for name, count in counts.items():
            week[name] = week.get(name, 0) + count
    if not summed:
        return ()
    monday, last = min(summed), max(summed)
    found = []
    while monday <= last:
        found.append((monday, summed.get(monday, {})))
        monday += timedelta(days=DAYS)
    return tuple(found)
