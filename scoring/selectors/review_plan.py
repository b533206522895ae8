"""A class against its plan: what the reference pace, and the group's own, should have done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from scoring.core.course import Course
from scoring.core.crowd import at_share, by_order, is_course
from scoring.core.drawing import Drawing
from scoring.core.estimation.forecast_words import chance, percent, to_pass
from scoring.core.estimation.pace import Pace
from scoring.core.prescription import clock_text
from scoring.core.reference import Reference, expected
from scoring.models import StreamedClass

from .forecast_record import Beside
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
class Kept:
    """What the forecast kept before anybody logged said of the last block that ends, and the
    share of those who logged that did it."""

    what: str
    share: float
    did: float

    @property
    def is_plain(self) -> bool:
        """Whether all or nobody was to do it, and so it was: nothing to tell."""
        return (self.share > 0.99 and self.did == 1) or (self.share < 0.01 and not self.did)

    @property
    def sentence(self) -> str:
        """For the paragraph."""
        foreseen = chance(self.share)
        foreseen = foreseen[0].upper() + foreseen[1:]
        return f"{foreseen} were foreseen to {self.what}, and {percent(self.did)} did."


@dataclass(frozen=True, slots=True)
class Plan:
    """``total`` are the planned seconds of the course, ``None`` when it is endless; ``place``
    is where the plan's pace stands at the cap. ``share`` is how much of the plan's work the
    member at half did in a second of clock.

    The plan's pace is the typical member's where results had taught it (``is_learned``), as
    the planning page drew it, else the reference. ``forecast`` goes by the last classes, and
    only where none was ``kept``.
    """

    cap: int
    total: Fraction | None
    place: str
    share: Fraction | None
    forecast: Forecast | None
    kept: Kept | None = None
    is_learned: bool = False

    @property
    def whose(self) -> str:
        return "the typical pace here" if self.is_learned else "the reference pace"

    @property
    def fits(self) -> bool:
        return self.total is not None and self.total <= self.cap

    @property
    def reference(self) -> str:
        """What the plan's pace does, as a sentence."""
        if self.total is not None and self.fits:
            took = f"takes {clock_text(round(self.total))} of the {clock_text(self.cap)}"
            return f"At {self.whose} the course {took} on the clock"
        return f"By {clock_text(self.cap)} {self.whose} gets to {self.place}"

    @property
    def sentences(self) -> list[str]:
        """For the paragraph."""
        said = [self.reference]
        if self.share is not None:
            said[0] += f"; the middle of the class went at {round(self.share * 100)} % of it"
        said[0] += "."
        if self.kept and not self.kept.is_plain:
            said.append(self.kept.sentence)
        found = self.forecast
        if found and self.total is not None and not found.is_plain:
            said.append(
                f"Going by their last classes {found.finishing} of {found.count} were to finish, "
                f"and {found.finished} did."
            )
        return said


def plan_of(
    streamed_class: StreamedClass,
    course: Course,
    rows: Sequence[Row],
    pace: Pace | None,
    foreseen: Beside | None,
) -> Plan | None:
    """The plan beside what happened; ``None`` where marks are no places. ``pace`` is the
    typical member's where it was learned, ``foreseen`` the forecast that was kept."""
    if not is_course(course) or not course.limit:
        return None
    reference = Reference(course)
    cap = Fraction(course.limit)
    lengths = pace.lengths if pace else None
    drawing = Drawing(course, max((row.score.raw_reps for row in rows), default=0), lengths)
    worked = sorted(drawing.at(row.score.raw_reps) / Fraction(row.score.seconds) for row in rows)
    if pace is None:
        total, reached = reference.total(), reference.reached(cap)
    else:
        total = None if pace.total is None else Fraction(round(pace.total))
        reached = course.place(pace.reached(course.limit))
    return Plan(
        cap=course.limit,
        total=total,
        place=course.describe(reached),
        share=at_share(worked, Fraction(1, 2)) if worked else None,
        forecast=None if foreseen else _forecast(streamed_class, course, reference, rows),
        kept=_kept(course, foreseen) if foreseen else None,
        is_learned=pace is not None,
    )


def planned_ends(course: Course, pace: Pace | None) -> dict[int, Fraction]:
    """Seconds on the clock at which the plan ends each block but the last."""
    if pace is None:
        reference = Reference(course)
        return {block.number: reference.block_end(block.number) for block in course.blocks[:-1]}
    last = {course_set.block: course_set.index for course_set in course.sets}
    return {
        block.number: Fraction(round(pace.end(last[block.number]))) for block in course.blocks[:-1]
    }


def _kept(course: Course, foreseen: Beside) -> Kept | None:
    if not foreseen.gates:
        return None
    gate = foreseen.gates[-1]
    return Kept(to_pass(course, gate.block), gate.share, gate.actual)


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
