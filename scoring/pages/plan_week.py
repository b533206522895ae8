"""A week's plan on one page, and adding a class to one of its days."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_safe

from members.keys import is_key
from members.models import Membership
from scoring.core.iso_week import IsoWeek
from scoring.core.movements import Pattern
from scoring.core.patterns import Run, Work
from scoring.problems import Refused, refuse
from scoring.selectors.plan import PlannedClass, WeekPlan, week_plan, zone_of
from scoring.selectors.searching import Asked, search
from scoring.selectors.templates import templates_for
from scoring.selectors.workouts import workout_for
from scoring.services.planning import repeat_workout
from scoring.services.searching import index_workouts

from .plan_read import read_clock, read_day, read_moment, read_week, shown_week, today_of
from .viewer import coaches_only

USUAL_CLOCK = "18:00"
OFFERED = 40
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven")


@require_safe
@coaches_only
def plan_week(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Seven days of the gym: what is planned, what it asks of the body, what can be done."""
    faults, today = [], today_of(viewer)
    week = IsoWeek.of(today)
    if asked := request.GET.get("week", ""):
        try:
            week = read_week(asked)
        except Refused as refused:
            faults = refused.items
    plan = week_plan(viewer=viewer, week=week)
    context: dict[str, Any] = {
        "plan": plan,
        "shown": shown_week(week.monday),
        "is_now": today in week.days,
        "today": today,
        "before": week.plus(-1),
        "after": week.plus(1),
        "days": [{"day": day, "classes": [told(c) for c in day.classes]} for day in plan.days],
        "has_any": any(day.classes for day in plan.days),
        "loads": pattern_rows(plan),
        "runs": [run_text(run) for run in plan.runs],
        "faults": faults,
    }
    status = 422 if faults else 200
    return render(request, "scoring/coach/plan_week.html", context, status=status)


def told(row: PlannedClass) -> dict[str, Any]:
    """A class of the plan as its page shows it."""
    return {
        "streamed": row.streamed,
        "clock": f"{row.local:%H:%M}",
        "day": f"{row.local:%Y-%m-%d}",
        "cap": row.cap,
        "is_draft": row.is_draft,
        "patterns": ", ".join(
            f"{pattern.value} {load_text(work)}"
            for pattern, work in sorted(row.work.items(), key=lambda pair: -pair[1].seconds)
        ),
    }


def minutes(work: Work) -> int:
    """Whole minutes; what is asked for at all is at least one."""
    return max(1, round(work.seconds / 60))


def load_text(work: Work) -> str:
    return f"{minutes(work)} min" + (" with load" if work.has_load else "")


def pattern_rows(plan: WeekPlan) -> list[dict[str, Any]]:
    """A row for each pattern, with a cell for each day; a cell without work is ``None``."""

    def cell(pattern: Pattern, work: Work | None) -> dict[str, Any] | None:
        return {"minutes": minutes(work), "has_load": work.has_load} if work else None

    return [
        {
            "name": pattern.value,
            "cells": [cell(pattern, day.work.get(pattern)) for day in plan.days],
        }
        for pattern in plan.patterns
    ]


def run_text(run: Run) -> str:
    """``Squat on Monday, Tuesday and Wednesday: three days running, a load on each.``"""
    names = [f"{day:%A}" for day in run.days]
    count = NUMBERS[len(names)] if len(names) < len(NUMBERS) else str(len(names))
    load = ", with a load on each of them" if run.has_load else ""
    name = run.pattern.value.capitalize()
    return f"{name} on {', '.join(names[:-1])} and {names[-1]}: {count} days running{load}."


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def plan_add(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """A class on a day: a past workout at once, a template or a blank page to write on."""
    sent = request.POST if request.method == "POST" else request.GET
    given = {
        "day": sent.get("day", "") or f"{today_of(viewer) + timedelta(days=1)}",
        "clock": sent.get("clock", "") or USUAL_CLOCK,
        "what": sent.get("what", ""),
    }
    fault: dict[str, str] = dict.fromkeys(given, "")
    if request.method == "POST":
        try:
            return _added(request, viewer, given)
        except Refused as refused:
            fault |= {i.column: f"{i.problem} {i.suggestion}".strip() for i in refused.items}
    index_workouts(gym=viewer.gym)
    past = search(viewer=viewer, asked=Asked(), now=timezone.now())[:OFFERED]
    context = {
        "given": given,
        "week": _week_of(given["day"], viewer),
        "fault": fault,
        "past": [(f"workout-{row.pk}", _said(row, viewer)) for row in past],
        "templates": [(f"template-{t.pk}", t.name) for t in templates_for(viewer=viewer)],
    }
    status = 422 if any(fault.values()) else 200
    return render(request, "scoring/coach/plan_add.html", context, status=status)


def _week_of(day: str, viewer: Membership) -> IsoWeek:
    """The week of a typed day; this week if it is no day."""
    try:
        return IsoWeek.of(date.fromisoformat(day))
    except ValueError:
        return IsoWeek.of(today_of(viewer))


def _said(row: Any, viewer: Membership) -> str:
    if row.last_ran is None:
        return str(row.title)
    return f"{row.title}, last on {row.last_ran.astimezone(zone_of(viewer)):%-d %B %Y}"


def _added(request: HttpRequest, viewer: Membership, given: dict[str, str]) -> HttpResponse:
    starts_at = read_moment(given["day"], given["clock"], zone_of(viewer))
    kind, _, key = given["what"].partition("-")
    if kind == "workout":
        workout = workout_for(viewer=viewer, pk=int(key)) if is_key(key) else None
        if workout is None:
            raise refuse("what", "There is no such workout.", "Choose one of the list.")
        now = timezone.now()
        made = repeat_workout(workout=workout, by=viewer, starts_at=starts_at, now=now)
        messages.success(request, f"{workout.title} is planned, as a draft.")
        return to_week(made.starts_at, viewer)
    at = datetime.combine(read_day(given["day"]), read_clock(given["clock"]))
    begin = {"at": at.isoformat(timespec="minutes")}
    if kind == "template":
        begin["pattern"] = key
    return redirect(f"{reverse('class-new')}?{urlencode(begin)}")


def to_week(moment: datetime, viewer: Membership) -> HttpResponseRedirect:
    """Back to the plan of the week that a moment lies in."""
    week = IsoWeek.of(moment.astimezone(zone_of(viewer)).date())
    return HttpResponseRedirect(f"{reverse('plan-week')}?{urlencode({'week': str(week)})}")
