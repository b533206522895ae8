"""A forecast as the plain data that the API tells."""

from __future__ import annotations

from collections.abc import Iterable

from scoring.core.course import Course
from scoring.core.estimation.forecast_words import to_pass
from scoring.selectors.estimates import Held
from scoring.selectors.forecasts import Foretold

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
                "share": gate.share,
                "low": gate.low,
                "high": gate.high,
            }
            for gate in told.gates
        ],
        "halfway": _range(course, told.middle.tolist()),
        "caps": [{"share": one.share, "cap_seconds": one.cap} for one in foretold.caps],
        "remarks": list(foretold.remarks),
        "unlikely": [{"name": name, "share": share} for name, share in foretold.unlikely],
        "members": [
            {
                "member": member,
                "places": _range(course, told.places[row].tolist()),
                "finishes": float(told.past[row, -1]) if told.gates else None,
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
    places = [{"reps": raw, "text": course.describe(course.place(raw))} for raw in raws]
    return dict(zip(("low", "middle", "high"), places, strict=True))
