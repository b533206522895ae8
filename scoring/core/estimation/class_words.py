"""What the class effect says in words: was it the workout or the day?"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

from .level_reading import Z_80

EQUAL = 0.5
"""Percent under which a difference is none."""

WHY = (
    "What a workout asks is told by its movements, options and loads, and who came by their "
    "levels. What is left, and common to all in a class, is this. From one class alone it can't "
    "be told whether that was the day, the room, the stream, or how the parts of the workout sit "
    "together. “Likely” holds the truth four times in five."
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
        """Whether none at all is outside of what is likely."""
        return self.low > 0 or self.high < 0


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


def effect_text(found: ClassEffect) -> str:
    """The answer in two sentences."""
    between = _range_text(round(found.low), round(found.high))
    if abs(found.percent) < EQUAL:
        beside = "Together they were as fast as"
    else:
        how = "slower" if found.percent > 0 else "faster"
        beside = f"Together they were about {max(1, abs(round(found.percent)))} % {how} than"
    first = (
        f"{beside} their levels and this workout's movements would say (likely between {between})."
    )
    if not found.is_clear:
        return f"{first} That can be chance: a day like any other."
    return (
        f"{first} So the movements don't explain it: it was the day, the room or the stream, or "
        "how this workout's parts sit together."
    )


def nothing_text() -> str:
    """For a class that the estimate doesn't hold."""
    return (
        "Not worked out yet. It is after the class has closed and its results have been learned "
        "from; until then only that classes seldom differ by more than a few percent is known."
    )
