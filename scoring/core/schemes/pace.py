"""What every scheme that orders by credited pace shares: q = C / E."""

from __future__ import annotations

from fractions import Fraction

from ..course import Course
from ..prescription import clock_text
from .base import Adjusted, Scheme, Work


class PaceScheme(Scheme):
    """Orders by credited reps a second; the adjusted mark is where that pace leads."""

    def performance(self, course: Course, work: Work) -> Fraction:
        """Pace q in credited reps (or weighed reference seconds) a second."""
        return work.credited / work.seconds

    def adjusted(self, course: Course, work: Work) -> Adjusted:
        """D = q × cap as a place, or the time R / q where that pace would have finished."""
        pace = self.performance(course, work)
        unit = 10 if course.weighted else 1
        reached = pace * (course.limit or 0)
        if course.total_weight is not None and reached * unit >= course.total_weight:
            seconds = Fraction(course.total_weight, unit) / pace
            return Adjusted(clock_text(seconds), seconds=seconds)
        place, part = course.place_by_weight(reached * unit)
        return Adjusted(course.describe(place, part), reps=reached)
