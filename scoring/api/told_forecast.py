"""A forecast as the plain data that the API tells."""

from __future__ import annotations

from collections.abc import Iterable

from scoring.core.course import Course
from scoring.core.estimation.forecast_words import to_pass
from scoring.core.estimation.honesty import Honesty, Kept
from scoring.selectors.estimates import Held
from scoring.selectors.forecast_record import Beside, Record
from scoring.selectors.forecasts import Foretold

from .rounding import reps, share
from .told import Told


def group_forecast(foretold: Foretold | None) -> Told | None:
    if foretold is None:
        return None
    found = foretold.expected
    course, told = found.course, found.told
    return {
        "based_on": source(found.held),
        "cap_seconds": told.cap,
        "count": len(found.members),
        "rule": foretold.rule,
        "gates": [
            {
                "block": gate.block,
                "what": to_pass(course, gate.block),
                "share": share(gate.share),
                "low": share(gate.low),
                "high": share(gate.high),
            }
            for gate in told.gates
        ],
        "unknown": list(found.unknown),
        "halfway": _range(course, told.middle.tolist()),
        "caps": [{"share": one.share, "cap_seconds": one.cap} for one in foretold.caps],
        "remarks": list(foretold.remarks),
        "unlikely": [{"name": name, "share": share(part)} for name, part in foretold.unlikely],
        "members": [
            {
                "member": member,
                "places": _range(course, told.places[row].tolist()),
                "past_last_gate": share(float(told.past[row, -1])) if told.gates else None,
            }
            for row, member in enumerate(found.members)
        ],
        "pace": [
            {
                "where": course.where(course.set_at(passing.index)),
                "movement": course.set_at(passing.index).line.line.movement,
                "reps": course.set_at(passing.index).reps,
                "ends": round(passing.seconds, 1),
            }
            for passing in found.pace.line()
        ],
    }


def source(held: Held) -> Told:
    return {
        "is_prior": held.is_prior,
        "estimate": held.pk,
        "results": held.results,
        "members": held.members,
        "until": held.until,
    }


def _range(course: Course, raws: Iterable[int]) -> Told:
    places = [_place(course, raw) for raw in raws]
    return dict(zip(("low", "middle", "high"), places, strict=True))


def _place(course: Course, raw: int) -> Told:
    return {"reps": raw, "text": course.describe(course.place(raw))}


def beside(found: Beside) -> Told:
    record = found.record
    return {
        "class": found.streamed_class.pk,
        "estimate": record.snapshot_id,
        "is_prior": record.is_prior,
        "results": record.results,
        "until": record.until,
        "made_at": record.made_at,
        "gates": [
            {
                "block": gate.block,
                "what": to_pass(found.course, gate.block),
                "share": share(gate.share),
                "low": share(gate.low),
                "high": share(gate.high),
                "passed": gate.passed,
                "count": gate.count,
            }
            for gate in found.gates
        ],
        "halfway": None
        if found.halfway is None
        else _range(found.course, found.halfway[:3])
        | {"done": _place(found.course, found.halfway[3])},
        "members": [
            {
                "member": held.member_id,
                "low": held.seen.low,
                "middle": held.seen.middle,
                "high": held.seen.high,
                "done": held.seen.done,
                "is_inside": held.seen.is_inside,
            }
            for held in found.members
        ],
        "others": found.others,
        "asked": found.asked,
        "honesty": _honesty(found.honesty),
    }


def record(found: Record) -> Told:
    return {
        "classes": [beside(row) for row in found.classes],
        "taught": _honesty(found.taught),
        "bare": _honesty(found.bare),
        "gates": found.gates,
        "gates_inside": found.gates_inside,
        "asked": found.asked,
    }


def _honesty(told: Honesty | None) -> Told | None:
    if told is None:
        return None
    return {
        "count": told.count,
        "classes": told.classes,
        "fifths": _kept(told.fifths),
        "half": _kept(told.half),
        "score": reps(told.score),
        "naive_score": reps(told.naive_score),
        "bias": reps(told.bias),
        "above": share(told.above),
    }


def _kept(kept: Kept) -> Told:
    held = kept.held
    return {
        "promised": share(kept.promised),
        "inside": held.inside,
        "count": held.count,
        "low": share(held.low),
        "high": share(held.high),
    }
