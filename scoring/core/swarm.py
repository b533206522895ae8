"""Dots side by side along a scale, and counts where dots would not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """Everybody whose place falls into one step of the scale.

    ``step`` counts from 0 at the scale's beginning. ``members`` are positions in what was
    given, in that order.
    """

    step: int
    members: tuple[int, ...]


def steps(places: Sequence[float], size: float, count: int) -> list[Line]:
    """Gather places (0 up, in the unit of ``size``) into at most ``count`` steps.

    Steps without anybody are left out; a place at the very end falls into the last step.
    Raises ``ValueError`` unless ``size`` is above 0 and ``count`` at least 1.
    """
    if size <= 0 or count < 1:
        raise ValueError("A scale has steps of some size.")
    found: dict[int, list[int]] = {}
    for index, place in enumerate(places):
        found.setdefault(min(count - 1, max(0, int(place // size))), []).append(index)
    return [Line(step, tuple(found[step])) for step in sorted(found)]
