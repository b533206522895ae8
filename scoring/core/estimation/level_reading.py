"""Levels read off an estimate: on a day, over time, and whether there was an improvement.

A member's log slowness u moves as a random walk. The estimate knows it on the days of their
results; in between it is the walk's bridge, which swells between two results, and after the
last result it is that day's, the wider the longer ago. Given costs and classes all of it is
exact: ``tests/core/test_level_reading.py`` compares with the conditional of the whole Gaussian.
That they are uncertain too is in the variances and in what each state has in common with the
last one, which is what an improvement until now is told from.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from math import erf, exp, sqrt

import numpy as np

from .estimate import LevelPaths, Spreads

TYPICAL = 100.0
"""The level of a gym's typical member: u = 0, about which members lie on the day of their first
result. Later forms and the middle of a day's members may lie elsewhere."""

Z_80 = 1.2815515655446004
"""The normal distribution's 90th percentile: 80 % lie within it on both sides."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A log slowness u with its variance; the level is ``100 · exp(-u)``, more is faster."""

    mean: float
    variance: float

    @property
    def level(self) -> float:
        """The middle: as likely above as below."""
        return TYPICAL * exp(-self.mean)

    @property
    def low(self) -> float:
        """The lower end of where the level is with a chance of 80 %."""
        return TYPICAL * exp(-self.mean - self._reach)

    @property
    def high(self) -> float:
        """The upper end of where the level is with a chance of 80 %."""
        return TYPICAL * exp(-self.mean + self._reach)

    @property
    def _reach(self) -> float:
        return Z_80 * sqrt(max(self.variance, 0.0))


def typical(spreads: Spreads) -> Reading:
    """Of a member without a result: the typical member's, and as wide as members differ."""
    return Reading(0.0, spreads.level**2)


@dataclass(frozen=True, slots=True)
class _Place:
    """A day as a mean of two neighbouring states and a part of its own.

    u = (1 - share) · u[state] + share · u[state + 1] + own part, the own part being that of
    the walk since ``state`` or, between two states, of its bridge.
    """

    state: int
    share: float
    day: float


@dataclass(frozen=True, slots=True, eq=False)
class MemberLevels:
    """The path of one member.

    Attributes
    ----------
    days, means, variances, gains, with_last : (S,) floats
        States as in ``LevelPaths``, the days rising. S may be 0.
    counts : (S,) ints
        Results on each of those days.
    spreads : Spreads
    """

    days: tuple[float, ...]
    means: tuple[float, ...]
    variances: tuple[float, ...]
    gains: tuple[float, ...]
    with_last: tuple[float, ...]
    counts: tuple[int, ...]
    spreads: Spreads

    @property
    def results(self) -> int:
        """How many results the path is from."""
        return sum(self.counts)

    @property
    def first(self) -> float | None:
        """The day of the first result, ``None`` without any."""
        return self.days[0] if self.days else None

    @property
    def last(self) -> float | None:
        """The day of the last result, ``None`` without any."""
        return self.days[-1] if self.days else None

    def at(self, day: float) -> Reading | None:
        """The level on a day: ``None`` before the first result, and without any."""
        place = self._place(day)
        if place is None:
            return None
        return Reading(self._mean(place), self._covariance(place, place))

    def now(self, day: float) -> Reading:
        """The level on a day, and the typical member's where nothing is known of this one."""
        return self.at(day) or typical(self.spreads)

    def improved(self, since: float, until: float) -> float | None:
        """The probability that a member is faster on one day than on an earlier one.

        Parameters
        ----------
        since, until
            Days, ``since`` the earlier.

        Returns
        -------
        float or None
            From 0 to 1; 0.5 where nothing is known of any change. ``None`` where ``since``
            is before the first result.

        Raises
        ------
        ValueError
            If ``since`` is after ``until``.
        """
        if since > until:
            raise ValueError("The day to compare with is the earlier one.")
        then, now = self._place(since), self._place(until)
        if then is None or now is None:
            return None
        gained = self._mean(then) - self._mean(now)
        variance = (
            self._covariance(then, then)
            + self._covariance(now, now)
            - 2 * self._covariance(then, now)
        )
        if variance <= 1e-15:
            return 0.5 if gained == 0 else float(gained > 0)
        return (1 + erf(gained / sqrt(2 * variance))) / 2

    def covariance(self, one: float, two: float) -> float:
        """Of u on two days, neither before the first result.

        Raises
        ------
        ValueError
            For a day before the first result.
        """
        places = self._place(min(one, two)), self._place(max(one, two))
        if places[0] is None or places[1] is None:
            raise ValueError("Nothing is known before the first result.")
        return self._covariance(places[0], places[1])

    def path(self, until: float, step: float) -> list[tuple[float, Reading]]:
        """Days and levels from the first result to a day, for a picture.

        Parameters
        ----------
        until
            The last day; the path is empty without a result by then.
        step
            In days: all days of results are there, and in a gap of more than two steps between
            them, or after the last, days about a step apart.
        """
        days = [day for day in self.days if day <= until]
        if not days:
            return []
        if days[-1] < until:
            days.append(until)
        found = days[:1]
        for before, after in pairwise(days):
            parts = int((after - before) / step) if after - before > 2 * step else 1
            found += np.linspace(before, after, parts + 1)[1:-1].tolist()
            found.append(after)
        return [(day, self.now(day)) for day in found]

    def _place(self, day: float) -> _Place | None:
        state = bisect_right(self.days, day) - 1
        if state < 0:
            return None
        if state == len(self.days) - 1:
            return _Place(state, 0.0, day)
        width = self.days[state + 1] - self.days[state]
        return _Place(state, (day - self.days[state]) / width, day)

    def _mean(self, place: _Place) -> float:
        after = self.means[place.state + 1] if place.share else 0.0
        return (1 - place.share) * self.means[place.state] + place.share * after

    def _states(self, one: int, two: int) -> float:
        """Covariance of two states, ``one`` not after ``two``: with the last one as the estimate
        has it, of others as if costs and classes were known."""
        if two == len(self.days) - 1:
            return self.with_last[one]
        found = self.variances[two]
        for gain in self.gains[one:two]:
            found *= gain
        return found

    def _covariance(self, one: _Place, two: _Place) -> float:
        """Of two days, ``one`` not after ``two``."""
        total = 0.0
        for state, weight in ((one.state, 1 - one.share), (one.state + 1, one.share)):
            for other, beside in ((two.state, 1 - two.share), (two.state + 1, two.share)):
                if weight and beside:
                    low, high = min(state, other), max(state, other)
                    total += weight * beside * self._states(low, high)
        if one.state == two.state:
            total += self.spreads.drift**2 * self._own(one, two)
        return total

    def _own(self, one: _Place, two: _Place) -> float:
        """Days of drift that two days of one stretch share: of the walk or of its bridge."""
        start = self.days[one.state]
        if one.state == len(self.days) - 1:
            return one.day - start
        end = self.days[one.state + 1]
        return (one.day - start) * (end - two.day) / (end - start)


def levels_of(levels: LevelPaths, spreads: Spreads, member: int | None) -> MemberLevels:
    """One member's path out of all.

    Parameters
    ----------
    member
        Their position; ``None`` for one whom the estimate doesn't know.
    """
    if member is None:
        return MemberLevels((), (), (), (), (), (), spreads)
    part = slice(int(levels.start[member]), int(levels.start[member + 1]))
    return MemberLevels(
        days=tuple(levels.day[part].tolist()),
        means=tuple(levels.mean[part].tolist()),
        variances=tuple(levels.variance[part].tolist()),
        gains=tuple(levels.gain[part].tolist()),
        with_last=tuple(levels.with_last[part].tolist()),
        counts=tuple(levels.results[part].tolist()),
        spreads=spreads,
    )
