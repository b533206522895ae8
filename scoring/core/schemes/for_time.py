"""Ladders and rounds for time: finishers by time, then the others by reps."""

from __future__ import annotations

from ..course import Course
from ..prescription import BlockKind
from .base import register
from .pace import PaceScheme


@register
class ForTime(PaceScheme):
    """A finite course against the clock."""

    name = "for-time"
    label = "for time"

    def fits(self, course: Course) -> bool:
        """A finite course of ladders and rounds."""
        kinds = {block.block.kind for block in course.blocks}
        return bool(kinds) and kinds <= {BlockKind.LADDER, BlockKind.ROUNDS}
