"""Intervals: each has its own clock, all credited reps add up."""

from __future__ import annotations

from ..course import Course
from ..prescription import BlockKind, decimal_text
from .base import Adjusted, Work, register
from .pace import PaceScheme


@register
class Intervals(PaceScheme):
    """Everybody has the same intervals, so the order is by total credited reps."""

    name = "intervals"
    label = "intervals"

    def fits(self, course: Course) -> bool:
        """One intervals block."""
        return [block.block.kind for block in course.blocks] == [BlockKind.INTERVALS]

    def adjusted(self, course: Course, work: Work) -> Adjusted:
        """The credited total itself: no interval leads into the next."""
        unit = "reference seconds of reps" if course.weighted else "reps"
        return Adjusted(f"{decimal_text(work.credited)} {unit}", reps=work.credited)
