"""Strength pieces: the heaviest credited load, then the reps done with it."""

from __future__ import annotations

from fractions import Fraction

from ..course import Course
from ..marks import Lifted
from ..prescription import BlockKind, decimal_text
from .base import Adjusted, Scheme, Work, register


@register
class MaxLoad(Scheme):
    """Compares kilograms."""

    name = "max-load"
    label = "heaviest load"

    def fits(self, course: Course) -> bool:
        """One strength piece."""
        return [block.block.kind for block in course.blocks] == [BlockKind.MAX_LOAD]

    def performance(self, course: Course, work: Work) -> Fraction:
        """Credited kilograms."""
        return work.credited

    def adjusted(self, course: Course, work: Work) -> Adjusted:
        """The credited load; ``reps`` holds the kilograms it comes to."""
        reps = work.mark.reps if isinstance(work.mark, Lifted) else 1
        kilograms = decimal_text(round(work.credited, 3))
        return Adjusted(f"{kilograms} kg x {reps}", reps=work.credited)

    def key(self, performance: Fraction) -> int:
        """Kilograms in units of 10**-15: a load's three decimals, a pound's eight, a
        credit's four. Exact, and within 64 bits up to 2,000 credited kilograms."""
        return int(performance * 10**15)

    def tie_key(self, work: Work) -> int:
        """More reps with the same load stand first."""
        return -work.mark.reps if isinstance(work.mark, Lifted) else 0
