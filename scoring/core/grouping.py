"""Groups of classes beside each other: figures with how far they can be believed.

The same people come again and again, so the results of a group are fewer than they look;
shares are counted for that (``share_of``), and means are taken over people or over workouts,
never over single results.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .comparing import Estimate, median, quantile, wilson

Tries = Mapping[int, tuple[int, int]]
"""By person: how often it was so, of how often it could have been."""


@dataclass(frozen=True, slots=True)
class Share(Estimate):
    """A share from 0 to 1: ``hits`` of ``tries``, by ``n`` people."""

    hits: int
    tries: int


@dataclass(frozen=True, slots=True)
class Middle(Estimate):
    """A median, its interval, and the quartiles between which half of the figures lie."""

    lower: float
    upper: float


def share_of(people: Tries) -> Share | None:
    """A share over people who each had some tries; ``None`` without any.

    Wilson's interval with as many tries as they are worth: what the same person does again
    is no new person, so the tries are divided by how much more the people differ than single
    tries would (the ratio estimator's variance beside the binomial one, never less than 1;
    Cochran 1977, Sampling techniques, from memory). Where everybody had one try, or where
    all did the same, it is Wilson's interval by the number of people.
    """
    rows = [(hits, tries) for hits, tries in people.values() if tries]
    if not rows:
        return None
    hits, tries = sum(row[0] for row in rows), sum(row[1] for row in rows)
    share = hits / tries
    worth = float(len(rows))
    if 0 < hits < tries:
        between = sum((own - share * times) ** 2 for own, times in rows)
        worth = tries / max(1.0, between / (tries * share * (1 - share)))
    low, high = wilson(share, worth)
    return Share(share, low, high, len(rows), hits, tries)


def middle_of(figures: Sequence[float]) -> Middle | None:
    """The median with its interval and quartiles; ``None`` without any figure."""
    if not figures:
        return None
    found = median(figures)
    lower, upper = quantile(figures, 0.25), quantile(figures, 0.75)
    return Middle(found.value, found.low, found.high, found.n, lower, upper)


def differ(own: Estimate | None, rest: Estimate | None) -> str:
    """How a figure stands to the rest's: ``higher`` or ``lower`` where the intervals don't
    meet, else ``none``; ``few`` where either is too few to say, ``alone`` without a rest."""
    if own is None or rest is None or not own.n or not rest.n:
        return "alone"
    if own.is_from_few or rest.is_from_few:
        return "few"
    if own.low is None or own.high is None or rest.low is None or rest.high is None:
        return "few"
    if own.low > rest.high:
        return "higher"
    return "lower" if own.high < rest.low else "none"
