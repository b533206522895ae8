"""A class against its plan: what the reference pace, and the group's own, should have done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from scoring.core.course import Course
from scoring.core.crowd import at_share, by_order, is_course
from scoring.core.drawing import Drawing
from scoring.core.prescription import clock_text
from scoring.core.reference import Reference, expected
from scoring.models import StreamedClass

from .review_before import usual_ratios
from .review_rows import Row

FEWEST = 3
"""From so many members on their usual pace makes a forecast."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What the usual pace of ``count`` who came foretold, and what the same members did.

    ``finishing`` and ``finished`` count; the places are at half of them, in words.
    """

    count: int
    finishing: int
    finished: int
    halfway: str
    reached: str

    @property
    def is_plain(self) -> bool:
        """Whether all or nobody was to finish, and so it was: nothing to tell."""
        return self.finishing == self.finished and self.finished in (0, self.count)


@dataclass(frozen=True, slots=True)
class Plan:
    """``total`` are the reference seconds of the course, ``None`` when it is endless;
    ``place`` where the reference pace stands at the cap. ``share`` is the reference work that
    the member at half did in a second of clock."""

    cap: int
    total: Fraction | None
    place: str
    share: Fraction | None
    forecast: Forecast | None

    @property
    def fits(self) -> bool:
        return self.total is not None and self.total <= self.cap

    @property
    def reference(self) -> str:
        """What the reference pace does, as a sentence."""
        if self.total is not None and self.fits:
            took = f"takes {clock_text(round(self.total))} of the {clock_text(self.cap)}"
            return f"At the reference pace the course {took} on the clock"
        return f"By {clock_text(self.cap)} the reference pace gets to {self.place}"

    @property
    def sentences(self) -> list[str]:
        """For the paragraph."""
        said = [self.reference]
        if self.share is not None:
            said[0] += f"; the middle of the class went at {round(self.share * 100)} % of it"
        said[0] += "."
        found = self.forecast
        if found and self.total is not None and not found.is_plain:
            said.append(
                f"Going by their last classes {found.finishing} of {found.count} were to finish, "
                f"and {found.finished} did."
            )
        return said


def plan_of(streamed_class: StreamedClass, course: Course, rows: Sequence[Row]) -> Plan | None:
    """The plan beside what happened; ``None`` where marks are no places."""
    if not is_course(course) or not course.limit:
        return None
    reference = Reference(course)
    cap = Fraction(course.limit)
    drawing = Drawing(course, max((row.score.raw_reps for row in rows), default=0))
    worked = sorted(drawing.at(row.score.raw_reps) / Fraction(row.score.seconds) for row in rows)
    return Plan(
        cap=course.limit,
        total=reference.total(),
        place=course.describe(reference.reached(cap)),
        share=at_share(worked, Fraction(1, 2)) if worked else None,
        forecast=_forecast(streamed_class, course, reference, rows),
    )


def _forecast(
    streamed_class: StreamedClass, course: Course, reference: Reference, rows: Sequence[Row]
) -> Forecast | None:
    ratios = usual_ratios(streamed_class, rows)
    known = [row for row in rows if row.score.pk in ratios]
    foretold = expected(reference, list(ratios.values()), Fraction(course.limit or 1))
    if foretold is None or len(known) < FEWEST:
        return None
    by_id = {row.score.pk: row for row in known}
    half = at_share(by_order(row.stop for row in known), Fraction(1, 2))
    return Forecast(
        count=len(known),
        finishing=foretold.finishing,
        finished=sum(row.stop.seconds is not None for row in known),
        halfway=course.describe(foretold.place)
        if foretold.seconds is None
        else clock_text(round(foretold.seconds)),
        reached=by_id[half.id].place,
    )
