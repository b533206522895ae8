"""How many digits figures that were worked out are told with: no more than they are known to.

What is kept has them all; this is for what goes out.
"""

from __future__ import annotations


def tenth(value: float) -> float:
    """A level or percent: ``98.9``."""
    return round(value, 1)


def share(value: float) -> float:
    """A share or a probability, to a thousandth: ``0.804``."""
    return round(value, 3)


def seconds(value: float) -> float:
    """Seconds a rep, to a hundredth; less than one, as a metre takes, to four places."""
    return round(value, 2 if value >= 1 else 4)


def reps(value: float) -> float:
    """Reps on average, to a hundredth."""
    return round(value, 2)


def spread(value: float) -> float:
    """A standard deviation of logarithms, or the power that time grows by: four places."""
    return round(value, 4)
