"""Ladders or rounds into an AMRAP that lasts until the clock stops."""

from __future__ import annotations

from ..course import Course
from .base import register
from .pace import PaceScheme


@register
class IntoAmrap(PaceScheme):
    """The course goes on for ever, so everybody is caught somewhere on it."""

    name = "into-amrap"
    label = "into an AMRAP"

    def fits(self, course: Course) -> bool:
        """Finite blocks first, an AMRAP last."""
        return course.is_endless and len(course.blocks) > 1
