"""How much of a figure to believe: estimates drawn towards the middle of their group.

One result in one class says little, the less the smaller the class. James and Stein's
estimator draws each figure towards the group's mean by a factor that the spread of the
whole group tells: Efron & Morris 1977, Scientific American 236(5):119.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

FEW = 4
"""Below so many figures the spread of a group tells nothing of its own."""

Z_80 = 1.2816
"""The normal distribution's 90th percentile: 80 % lie within it on both sides."""


@dataclass(frozen=True, slots=True)
class Shrunk:
    """Figures drawn towards ``mean`` by ``factor`` (1 believes them, 0 the mean alone).

    ``spreads`` are the standard deviations of each about its true value that are left.
    """

    mean: float
    factor: float
    values: tuple[float, ...]
    spreads: tuple[float, ...]

    def interval(self, number: int) -> tuple[float, float]:
        """Where the true value of a figure lies with a chance of 80 %."""
        reach = Z_80 * self.spreads[number]
        return self.values[number] - reach, self.values[number] + reach


def shrink(values: Sequence[float], variance: float, *, usual_factor: float = 0.5) -> Shrunk:
    """James and Stein's estimator towards the mean, never past it.

    Parameters
    ----------
    values
        One figure of each, all measured alike; at least one.
    variance
        Of a figure about its true value, greater than 0.
    usual_factor
        What to take where the figures are too few to tell, from 0 to 1.

    Raises
    ------
    ValueError
        For no figures, or a variance that is not positive.
    """
    if not values or variance <= 0:
        raise ValueError("At least one figure and a positive variance are needed.")
    mean = sum(values) / len(values)
    total = sum((value - mean) ** 2 for value in values)
    if len(values) < FEW:
        factor = usual_factor
    elif total == 0:
        factor = 0.0
    else:
        factor = max(0.0, 1 - (len(values) - 3) * variance / total)
    return Shrunk(
        mean=mean,
        factor=factor,
        values=tuple(mean + factor * (value - mean) for value in values),
        spreads=tuple(_spread(value - mean, 1 - factor, variance, len(values)) for value in values),
    )


def _spread(distance: float, drawn: float, variance: float, count: int) -> float:
    """What is left of a figure's error, that of the mean and of the factor included.

    After Morris 1983, J Am Stat Assoc 78:47 (from memory).
    """
    left = variance * (1 - drawn * (count - 1) / count)
    if count >= FEW:
        left += 2 / (count - 3) * drawn**2 * distance**2
    return sqrt(left)


def within_variance(groups: Mapping[object, Sequence[float]], *, least: int = 3) -> float | None:
    """The variance of figures about the mean of their own group, pooled.

    Groups of less than ``least`` figures are left out; ``None`` without any other.
    """
    squares, degrees = 0.0, 0
    for figures in groups.values():
        if len(figures) < least:
            continue
        mean = sum(figures) / len(figures)
        squares += sum((figure - mean) ** 2 for figure in figures)
        degrees += len(figures) - 1
    return squares / degrees if degrees and squares > 0 else None
