"""The running record: what forecasts promised beside what happened."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.core.course import Course
from scoring.core.estimation.forecast_words import chance, chances, percent, to_pass
from scoring.core.estimation.honesty import Honesty, Kept
from scoring.core.prescription import clock_text
from scoring.selectors.forecast_record import Beside, Came, Record, forecast_record

from .plan_forecast import place_words
from .viewer import coaches_only

FEW = 5
"""Under so many classes nothing is said of whether a promise was kept (our own choice): people
of one class share its day."""


@require_safe
@coaches_only
def record_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """How honest the gym's forecasts have been."""
    found = forecast_record(viewer=viewer)
    assert found is not None  # coaches only
    return render(request, "scoring/coach/forecast_record.html", record_context(found))


def record_context(found: Record) -> dict[str, Any]:
    """The record as its page says it."""
    results = sum(len(row.members) for row in found.classes)
    return {
        "classes": [class_row(row) for row in found.classes],
        "count": len(found.classes),
        "results": results,
        "parts": [
            part
            for part in (
                _part("Learned from results", found.taught),
                _part("From the catalogue's usual figures alone", found.bare),
            )
            if part
        ],
        "asked": found.asked,
        "repeated": sum(bool(row.record.naive_results) for row in found.classes),
        "gates": found.gates,
        "gates_inside": found.gates_inside,
    }


@dataclass(frozen=True, slots=True)
class Range:
    """A promise and what was held of it, as text."""

    name: str
    promised: str
    held: str
    between: str


@dataclass(frozen=True, slots=True)
class Part:
    """The record of one kind of forecasts."""

    title: str
    count: int
    classes: int
    ranges: tuple[Range, ...]
    sentences: tuple[str, ...]
    is_few: bool


def _part(title: str, told: Honesty | None) -> Part | None:
    if told is None:
        return None
    is_few = told.classes < FEW
    kept = [] if is_few else [verdict(told.fifths)]
    return Part(
        title,
        told.count,
        told.classes,
        (_range("For four cases of five", told.fifths), _range("For half of the cases", told.half)),
        (*kept, score_words(told), bias_words(told)),
        is_few,
    )


def _range(name: str, kept: Kept) -> Range:
    held = kept.held
    return Range(
        name,
        percent(kept.promised),
        f"{percent(held.share or 0)} ({held.inside} of {held.count})",
        f"{percent(held.low)} to {percent(held.high)}",
    )


def verdict(kept: Kept) -> str:
    """Whether the wide range held what it promised, as far as so many classes can tell."""
    if kept.held.high < kept.promised:
        return (
            "More places lay outside their range than promised: the ranges were too narrow, or "
            "lay to one side."
        )
    if kept.held.low > kept.promised:
        return "Fewer places lay outside their range than promised: the ranges were too wide."
    return "As many places lay in their range as promised, as far as so many classes can tell."


def score_words(told: Honesty) -> str:
    """How far off forecasts were, beside the same place for everybody."""
    own, naive = f"{told.score:.1f}", f"{told.naive_score:.1f}"
    if told.naive_score <= 0:
        return f"The average miss was {own} reps, with the same place for everybody {naive}."
    change = round(100 * (1 - told.score / told.naive_score))
    than = f"{abs(change)} % {'less' if change >= 0 else 'more'}"
    return f"The average miss was {own} reps, with the same place for everybody {naive}: {than}."


def bias_words(told: Honesty) -> str:
    """Whether people got further than foreseen."""
    reps = abs(told.bias)
    if reps < 0.5:
        return "On average people got as far as foreseen."
    further = "further" if told.bias > 0 else "less far"
    return f"On average people got {reps:.1f} reps {further} than the middle of their forecast."


@dataclass(frozen=True, slots=True)
class ClassRow:
    """A class of the record, as text."""

    pk: int
    title: str
    day: str
    results: int
    gate: str
    inside: str
    score: str
    naive: str
    naive_from: str


def class_row(row: Beside) -> ClassRow:
    local = timezone.localtime(row.streamed_class.starts_at)
    told = row.honesty
    assert told is not None  # only classes with results are in the record
    return ClassRow(
        row.streamed_class.pk,
        row.streamed_class.workout.title,
        f"{local:%-d %b %Y}",
        len(row.members),
        gate_text(row.course, row.gates[-1]) if row.gates else "",
        f"{row.inside} of {len(row.members)}",
        f"{told.score:.1f}",
        f"{told.naive_score:.1f}",
        "earlier runs" if row.record.naive_results else "usual pace",
    )


def gate_text(course: Course, gate: Came) -> str:
    """``finish: 62 % foreseen, 58 % did``."""
    return (
        f"{to_pass(course, gate.block)}: {chance(gate.share)} foreseen, {percent(gate.actual)} did"
    )


def beside_context(found: Beside) -> dict[str, Any]:
    """A class's forecast beside what happened, as its review says it."""
    course, record = found.course, found.record
    made = timezone.localtime(record.made_at)
    until = timezone.localtime(record.until) if record.until else None
    source = (
        "with no results to learn from, by the catalogue's usual figures"
        if until is None
        else f"from {record.results:,} results of {record.members:,} members until "
        f"{until:%-d %B %Y}"
    )
    return {
        "source": f"Made on {made:%-d %B %Y, %H:%M}, {source}.",
        "gates": [
            {
                "what": to_pass(course, gate.block).capitalize().replace("amrap", "AMRAP"),
                "foreseen": _with_range(gate),
                "did": f"{percent(gate.actual)} ({gate.passed} of {gate.count})",
                "is_inside": gate.is_inside,
            }
            for gate in found.gates
        ],
        "halfway": _halfway(found),
        "members": [
            {
                "pk": held.member_id,
                "name": held.name,
                "low": spot(found, held.seen.low),
                "high": spot(found, held.seen.high),
                "done": spot(found, held.seen.done),
                "where": where(held.seen.done, held.seen.low, held.seen.high),
            }
            for held in found.members
        ],
        "inside": found.inside,
        "count": len(found.members),
        "others": found.others,
        "asked": found.asked,
        "usual": record.count,
    }


def _with_range(gate: Came) -> str:
    """``62 % (50 % to 71 %)``, and ``over 99 %`` where the range says the same."""
    share, between = chance(gate.share), chances(gate.low, gate.high)
    return share if share == between else f"{share} ({between})"


def _halfway(found: Beside) -> dict[str, Any] | None:
    """Where half of the group should have been, and where half of those who logged were."""
    if found.halfway is None:
        return None
    low, middle, high, done = found.halfway
    words = [
        place_words(found.course, raw).replace("finished", "the finish")
        for raw in (low, middle, high, done)
    ]
    between = f" ({words[0]} to {words[2]})" if low != high else ""
    return {
        "foreseen": f"{words[1]}{between}",
        "did": words[3],
        "is_inside": low <= done <= high,
    }


def spot(found: Beside, reached: int) -> str:
    """A place, or the finishing time that lies there."""
    seconds = found.end.seconds(reached)
    if seconds is None:
        return place_words(found.course, reached)
    return clock_text(round(seconds))


def where(done: int, low: int, high: int) -> str:
    """Where a place lies against its range."""
    if done < low:
        return "less far"
    return "further" if done > high else "inside"
