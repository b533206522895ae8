"""A plan as the plain data that the API tells."""

from __future__ import annotations

from dataclasses import asdict

from scoring.core.course import MAX_SET_REPS, Course
from scoring.core.drawing import Segment
from scoring.core.figures import figure
from scoring.core.remarks import Compared
from scoring.core.stretches import clocked
from scoring.selectors.planning import Planned
from scoring.services.workouts import Preview

from .told import Told, course, remark


def preview(seen: Preview, plan: Planned | None) -> Told:
    return {
        "text": seen.text if seen.workout else None,
        "course": course(seen.course) if seen.course else None,
        "plan": _plan(seen.course, plan) if seen.course and plan else None,
        "notes": [remark(note) for note in seen.notes],
        "problems": [remark(problem) for problem in seen.problems],
    }


def _plan(built: Course, plan: Planned) -> Told:
    return {
        "drawing": _drawing(built, plan),
        "no_forecast": plan.answer.reason,
        "is_guess": plan.asked.is_guess,
        "totals": [{"name": name, "reps": reps} for name, reps in plan.totals.items()],
        "patterns": [{"name": name, "reps": reps} for name, reps in plan.patterns.items()],
        "sides": [asdict(row) for row in plan.sides],
        "odd_reps": list(plan.odd),
        "gear": [asdict(needed) for needed in plan.gear],
        "told_gear": plan.told_gear,
        "equipped": plan.equipped,
        "speed": {"value": figure(plan.speed.value), "results": plan.speed.results}
        if plan.speed
        else None,
        "volumes": [_volume(volume) for volume in plan.volumes],
        "remarks": [asdict(said) for said in plan.remarks],
        "suggestions": [
            {
                "line": at.line.number,
                "movement": at.line.line.movement,
                "text": each.text,
                "why": each.why,
                "counts": each.counts,
            }
            for at in plan.suggestions
            for each in at.suggestions
        ],
    }


def _drawing(built: Course, plan: Planned) -> Told:
    forecast = plan.forecast
    stopped = plan.asked.stopped if plan.speed or forecast else None
    lengths = forecast.expected.pace.lengths if forecast else None
    clock = clocked(built, built.raw(stopped) if stopped else None, lengths)
    return {
        "is_interval": clock.is_interval,
        "stops": clock.stops,
        "group_stops": None if clock.group is None else figure(clock.group),
        "stretches": [_stretch(built, stretch) for stretch in clock.stretches],
    }


def _stretch(built: Course, stretch: Segment) -> Told:
    told: Told = {
        "start": figure(stretch.start),
        "end": figure(stretch.end),
        "block": stretch.block,
    }
    course_set = stretch.course_set
    if course_set is None:
        return told | {"line": "", "where": "", "movement": "", "reps": None}
    return told | {
        "line": course_set.line.number,
        "where": built.where(course_set),
        "movement": course_set.line.line.movement,
        "reps": None if course_set.count == MAX_SET_REPS else course_set.reps,
    }


def _volume(volume: Compared) -> Told:
    return {
        "movement": volume.movement,
        "planned": volume.planned,
        "members": volume.members,
        "average": figure(volume.average, most=1),
        "ratio": figure(volume.ratio, most=2),
        "beyond": [{"name": name, "ratio": figure(ratio, most=2)} for name, ratio in volume.beyond],
    }
