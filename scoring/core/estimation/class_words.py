"""What the class effect says in words: was it the workout or the day?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt

from .level_reading import Z_80

EQUAL = 0.5
"""Percent under which a difference is none."""

SMALL = 2.0
"""Percent under which nobody need look for a reason (common practice, no source)."""

EXPECTED = "their levels and this workout's movements"

WHY = (
    "What a workout asks is told by its movements, options and loads, and who came by their "
    "levels. What is left, and common to all in a class, is this. Credited pace is something "
    "else: it compares credited reps a minute, so the workout and who came are in it. Whether it "
    "was the day, or how the parts of the workout sit together, only other times of the same "
    "workout can tell. “Likely” holds the truth four times in five."
)


@dataclass(frozen=True, slots=True)
class ClassEffect:
    """What was common to a class, in percent more time: above 0 is slower.

    ``low`` to ``high`` holds the true one with a chance of 80 %; ``results`` is from how many.
    """

    percent: float
    low: float
    high: float
    results: int

    @property
    def is_clear(self) -> bool:
        """Whether none at all is outside of what is likely, and it is worth a word."""
        return (self.low > 0 or self.high < 0) and abs(self.percent) >= SMALL


def effect_of(effect: float, variance: float, results: int) -> ClassEffect:
    """From an effect in log time and its variance."""
    reach = Z_80 * sqrt(max(variance, 0.0))
    low, middle, high = (100 * (exp(effect + z) - 1) for z in (-reach, 0.0, reach))
    return ClassEffect(middle, low, high, results)


def _range_text(low: int, high: int) -> str:
    """A range in percent more time: ``1 and 7 % slower``, ``3 % faster and 5 % slower``."""
    if low >= 0:
        return f"{low} and {high} % slower"
    if high <= 0:
        return f"{-high} and {-low} % faster"
    return f"{-low} % faster and {high} % slower"


@dataclass(frozen=True, slots=True)
class Times:
    """The other times of the same workout, together, and this class beside them."""

    count: int
    others: ClassEffect
    beside: ClassEffect


def times_of(
    own: tuple[float, float], others: Sequence[tuple[float, float]], results: int
) -> Times | None:
    """A class among the other times of its workout.

    Parameters
    ----------
    own
        The class's effect in log time and its variance.
    others
        The same of the other times, each weighing by how well it is known.
    results
        From how many results those are.

    Returns
    -------
    Times or None
        ``None`` without another time. What costs leave open is common to all times, so the
        interval of ``beside`` is rather too wide than too narrow.
    """
    if not others:
        return None
    weights = [1 / max(variance, 1e-12) for _, variance in others]
    total = sum(weights)
    mean = sum(w * effect for w, (effect, _) in zip(weights, others, strict=True)) / total
    return Times(
        count=len(others),
        others=effect_of(mean, 1 / total, results),
        beside=effect_of(own[0] - mean, own[1] + 1 / total, results),
    )


def _beside_text(found: ClassEffect, what: str = "") -> str:
    """``about 4 % slower``, ``just as fast``, with what it is beside."""
    if abs(found.percent) < EQUAL:
        return f"just as fast{what and f' as {what}'}"
    how = "slower" if found.percent > 0 else "faster"
    return f"about {max(1, abs(round(found.percent)))} % {how}{what and f' than {what}'}"


def _likely_text(found: ClassEffect) -> str:
    return f"(likely between {_range_text(round(found.low), round(found.high))})"


def effect_text(found: ClassEffect, times: Times | None = None) -> str:
    """The answer in a few sentences."""
    first = f"Together they were {_beside_text(found, EXPECTED)} would say {_likely_text(found)}."
    if times is not None:
        return f"{first} {_times_text(found, times)}"
    if not found.is_clear:
        return f"{first} That can be chance: a day like any other."
    return (
        f"{first} So the movements don't explain it: it was the day, the room or the stream, or "
        "how this workout's parts sit together."
    )


def short_text(found: ClassEffect) -> str:
    """A class effect in a line beside other figures."""
    told = f"{_beside_text(found)} {_likely_text(found)}"
    return told if found.is_clear else f"{told}: can be chance"


def _times_text(found: ClassEffect, times: Times) -> str:
    one = times.count == 1
    then = "The other time" if one else f"The {times.count} other times"
    told = (
        f"{then} of this workout it was {_beside_text(times.others)} "
        f"{_likely_text(times.others)}; this class was "
        f"{_beside_text(times.beside, 'that time' if one else 'those times')} "
        f"{_likely_text(times.beside)}."
    )
    return f"{told} {_answer(found, times)}"


def _sign(found: ClassEffect) -> int:
    """1 for clearly slower, -1 for clearly faster, 0 for what can be chance."""
    if not found.is_clear:
        return 0
    return 1 if found.percent > 0 else -1


def _answer(found: ClassEffect, times: Times) -> str:
    """From what the other times were like (the workout) and this class beside them (the day).

    The two can work against each other: then the one that the whole leans to is the answer,
    and the other is told as what it was.
    """
    workout, day, whole = _sign(times.others), _sign(times.beside), _sign(found)
    if not workout and not day:
        return "So neither stands out: a workout and a day like any other."
    if not workout:
        return "So it was the day, the room or the stream, not the workout."
    if not day:
        return (
            "So it was the workout, not the day: how its parts sit together, which its "
            "movements alone don't tell."
        )
    if workout == day:
        return "So it was the workout, and the day, the room or the stream too."
    slow, fast = ("workout", "day") if workout > 0 else ("day", "workout")
    if not whole:
        return f"So the {slow} was a slow one and the {fast} a fast one, and the two even out."
    if whole == workout:
        how = "faster" if day < 0 else "slower"
        return f"So it was the workout; the day itself was, if anything, {how}."
    how = "slow" if workout > 0 else "fast"
    return (
        f"So it was the day, the room or the stream: the workout by itself is a {how} one, and "
        "this class went the other way."
    )


def nothing_text() -> str:
    """For a class that the estimate doesn't hold."""
    return (
        "Not worked out yet. It is after the class has closed and its results have been learned "
        "from; until then only that classes seldom differ by more than a few percent is known."
    )
