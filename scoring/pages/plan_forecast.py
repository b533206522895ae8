"""A forecast in words, for the page on which a class is written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from scoring.core import catalogue
from scoring.core.course import Course
from scoring.core.estimation.forecast import CAP_STEP
from scoring.core.estimation.forecast_words import chance, chances, percent, to_pass
from scoring.core.figures import figure
from scoring.core.pacing import rough
from scoring.core.prescription import Unit, clock_text
from scoring.core.totals import rep_seconds
from scoring.selectors.estimates import Held
from scoring.selectors.forecasts import Expected, Foretold

from .places_picture import PlacesPicture, places_picture
from .plan_drawing import TYPICAL, TYPICAL_PRIOR, Learned


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
    typical: str
    caps: str
    remarks: tuple[str, ...]
    unlikely: str
    unknown: str
    places: PlacesPicture | None


def forecast_view(foretold: Foretold, now: datetime) -> ForecastView:
    """All of it in words."""
    found = foretold.expected
    course, told = found.course, found.told
    count = len(found.members)
    options = ", with the options they usually take" if found.has_options else ""
    return ForecastView(
        source=source_words(found.held, now),
        group=f"For {count} member{'' if count == 1 else 's'}{options}. {foretold.rule}",
        gates=tuple(
            GateRow(
                to_pass(course, gate.block).capitalize().replace("amrap", "AMRAP"),
                chance(gate.share),
                chances(gate.low, gate.high),
            )
            for gate in told.gates
        ),
        halfway=_halfway(found),
        typical=_typical(found),
        caps=_caps(foretold),
        remarks=foretold.remarks,
        unlikely=_unlikely(course, foretold),
        unknown=_unknown(found),
        places=places_picture(course, told),
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


def _typical(found: Expected) -> str:
    """Why the drawing, which is of the typical member, gets elsewhere than half of the group;
    empty where it doesn't."""
    if found.course.limit != found.told.cap:
        return ""
    reached, total = found.pace.reached(found.told.cap), found.pace.total
    if reached != found.halfway:
        at = f"gets to {place_words(found.course, reached)} by the cap"
        at = at if reached != found.course.total else "finishes"
    elif total is not None and reached == found.course.total:
        half = found.field.cap_for(0.5)
        if half is None or abs(half - total) <= CAP_STEP:
            return ""
        at = f"is done at about {clock_text(rough(Fraction(total)))}"
    else:
        return ""
    whose = TYPICAL_PRIOR if found.held.is_prior else TYPICAL
    causes = ["what is not known of them yet" if found.held.is_prior else "this group's own levels"]
    if found.has_options:
        causes.append("the options it takes")
    return f"In the drawing {whose} {at}; the difference comes from {' and '.join(causes)}."


def _caps(foretold: Foretold) -> str:
    """The cap for some shares, as a sentence."""
    if not foretold.caps:
        return ""
    doing = to_pass(foretold.expected.course, foretold.expected.told.gates[-1].block)
    found = [f"{percent(one.share)} by {clock_text(one.cap)}" for one in foretold.caps if one.cap]
    none = [percent(one.share) for one in foretold.caps if not one.cap]
    if not found:
        return f"No cap is long enough for {none[0]} of the group to {doing}."
    but = f"; no cap is long enough for {' or '.join(none)}" if none else ""
    return f"The cap for so many to {doing}: {', '.join(found)}{but}."


def _unlikely(course: Course, foretold: Foretold) -> str:
    """Who will more likely not get past the first block."""
    if not foretold.unlikely:
        return ""
    names = ", ".join(f"{name} ({chance(share)})" for name, share in foretold.unlikely)
    more = f"; {foretold.more} more are more likely not to" if foretold.more > 1 else ""
    more = "; 1 more is more likely not to" if foretold.more == 1 else more
    first = foretold.expected.told.gates[0].block
    return f"Least likely to {to_pass(course, first)}: {names}{more}."


EACH = {Unit.REPS: "rep", Unit.CALORIES: "calorie", Unit.METRES: "metre"}


def _unknown(found: Expected) -> str:
    """Movements that nobody has done here, and what stands in for what they take."""
    names = found.unknown
    if found.held.is_prior:  # nothing was done here: told once for all of the catalogue's
        names = tuple(name for name in names if catalogue.find(name) is None)
    said = []
    for name in names:
        line = next(line for line in found.course.lines if line.line.movement == name)
        whose = "the catalogue's" if catalogue.find(name) else "an unknown movement's"
        unit = EACH.get(line.line.unit)
        each = f"{figure(rep_seconds(line), most=1)} s a {unit}" if unit else "time as written"
        said.append(f"Nobody has done {name} here; its seconds are a guess ({whose} {each}).")
    return " ".join(said)


def learned(found: Expected) -> Learned | None:
    """The course's scale, as the forecast has it for the typical member."""
    limit = found.course.limit
    if limit is None:
        return None
    pace, course = found.pace, found.course
    raw = pace.reached(limit)
    is_done = raw == course.total
    before = pace.end(len(course.sets) - 1) if course.sets else 0.0
    return Learned(
        pace.lengths,
        None if is_done else course.place(raw),
        Fraction(round(before)),
        found.held.is_prior,
    )
