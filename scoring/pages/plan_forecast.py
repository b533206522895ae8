"""A forecast in words, for the page on which a class is written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from scoring.core.course import Course
from scoring.core.estimation.forecast_words import percent, to_pass
from scoring.core.prescription import clock_text
from scoring.selectors.estimates import Held
from scoring.selectors.forecasts import Expected, Foretold

from .plan_drawing import Learned


@dataclass(frozen=True, slots=True)
class GateRow:
    """A block's end: what getting past it is, how many should, and between which shares."""

    what: str
    share: str
    range: str


@dataclass(frozen=True, slots=True)
class ForecastView:
    """A forecast as its page says it; empty texts where there is nothing to say."""

    source: str
    group: str
    gates: tuple[GateRow, ...]
    halfway: str
    caps: tuple[tuple[str, str], ...]
    caps_for: str
    remarks: tuple[str, ...]
    unlikely: str


def forecast_view(foretold: Foretold, now: datetime) -> ForecastView:
    """All of it in words."""
    found = foretold.expected
    course, told = found.course, found.told
    count = len(found.members)
    return ForecastView(
        source=source_words(found.held, now),
        group=f"For {count} member{'' if count == 1 else 's'}, with the options they usually take. "
        f"{foretold.rule}",
        gates=tuple(
            GateRow(
                to_pass(course, gate.block).capitalize().replace("amrap", "AMRAP"),
                percent(gate.share),
                f"{percent(gate.low)} to {percent(gate.high)}",
            )
            for gate in told.gates
        ),
        halfway=_halfway(found),
        caps=tuple(
            (percent(one.share), clock_text(one.cap) if one.cap else "no cap is long enough")
            for one in foretold.caps
        ),
        caps_for=to_pass(course, told.gates[-1].block) if told.gates else "",
        remarks=foretold.remarks,
        unlikely=_unlikely(course, foretold),
    )


def source_words(held: Held, now: datetime) -> str:
    """From how many results of how many members, until when."""
    if held.is_prior or held.until is None:
        return (
            "No results yet: these are the catalogue's usual figures and your credits, so the "
            "ranges are wide."
        )
    results = "1 result" if held.results == 1 else f"{held.results:,} results"
    members = "1 member" if held.members == 1 else f"{held.members:,} members"
    until = held.until.astimezone(now.tzinfo)
    return f"From {results} of {members} until {until:%-d %B %Y}."


def place_words(course: Course, raw: int) -> str:
    """A place: ``finished``, ``2 rounds + 9``."""
    return course.describe(course.place(raw))


def _halfway(found: Expected) -> str:
    """Where half of the group should be."""
    course = found.course
    low, middle, high = (place_words(course, int(raw)) for raw in found.told.middle)
    between = f", most likely between {low} and {high}" if low != high else ""
    if middle == "finished":
        by = found.field.cap_for(0.5)
        return f"Half of the group should have finished by {clock_text(by or found.told.cap)}."
    return f"Half of the group should get at least as far as: {middle}{between}."


def _unlikely(course: Course, foretold: Foretold) -> str:
    """Who will more likely not get past the first block."""
    if not foretold.unlikely:
        return ""
    names = ", ".join(f"{name} ({percent(share)})" for name, share in foretold.unlikely)
    more = f" and {foretold.more} more" if foretold.more else ""
    first = foretold.expected.told.gates[0].block
    return f"Least likely to {to_pass(course, first)}: {names}{more}."


def learned(found: Expected) -> Learned | None:
    """The course's scale, where results have taught one."""
    limit = found.course.limit
    if found.held.is_prior or limit is None:
        return None
    pace, course = found.pace, found.course
    raw = pace.reached(limit)
    is_done = raw == course.total
    before = pace.end(len(course.sets) - 1) if course.sets else 0.0
    return Learned(pace.lengths, None if is_done else course.place(raw), Fraction(round(before)))


def places(found: Expected) -> list[tuple[int, float]]:
    """Where the group should be, and how many of it."""
    at, counts = found.told.shares()
    return list(zip(at.tolist(), counts.tolist(), strict=True))
