"""As many rounds as possible: one AMRAP and nothing before it."""

from __future__ import annotations

from ..course import Course
from ..prescription import BlockKind
from .base import register
from .pace import PaceScheme


@register
class Amrap(PaceScheme):
    """Everybody works for the same time, so the order is by credited reps."""

    name = "amrap"
    label = "as many rounds as possible"

    def fits(self, course: Course) -> bool:
        """A single AMRAP."""
        return [block.block.kind for block in course.blocks] == [BlockKind.AMRAP]
