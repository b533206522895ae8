"""My progress: each picture with its table, each figure with what it is made of."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.core.estimation.level_words import YOU
from scoring.core.figures import figure
from scoring.core.iso_week import IsoWeek
from scoring.core.training import Week
from scoring.problems import Refused
from scoring.selectors import progress
from scoring.selectors.levels import level_of, read_since, today_of

from .chart import Point, bar_chart
from .level import fault_text, shown
from .viewer import members_only

WEEKS = 12


def _monday(monday: date) -> str:
    return date_format(monday, "j M")


def load_picture(weeks: tuple[Week, ...]) -> SafeString:
    """Session load by week."""
    newest = weeks[-WEEKS:]
    if len(newest) < 2:
        return SafeString("")
    return bar_chart(
        [
            Point(
                _monday(w.monday), round(w.load), f"week of {_monday(w.monday)}: {round(w.load):,}"
            )
            for w in newest
        ],
        name="load",
        title="Session load by week",
        told=f"{len(newest)} weeks; the last at {round(newest[-1].load):,}. "
        "The table has them all.",
    )


def volume_picture(volumes: tuple[progress.Volume, ...]) -> SafeString:
    """Reps by week."""
    newest = volumes[-WEEKS:]
    if len(newest) < 2:
        return SafeString("")
    totals = [(v.monday, sum(v.movements.values())) for v in newest]
    return bar_chart(
        [Point(_monday(m), reps, f"week of {_monday(m)}: {reps:,} reps") for m, reps in totals],
        name="volume",
        title="Reps by week",
        told=f"{len(newest)} weeks; the last with {totals[-1][1]:,} reps. The table has them all.",
    )


def _week(week: Week, sessions: list[progress.Session]) -> dict[str, Any]:
    return {
        "sessions": [
            {
                "score": session.score,
                "minutes": figure(Fraction(session.score.seconds) / 60, most=1),
                "load": round(session.load),
            }
            for session in sessions
            if IsoWeek.of(session.day).monday == week.monday
        ],
        "monday": week.monday,
        "load": round(week.load),
        "monotony": "" if week.monotony is None else f"{week.monotony:.1f}",
        "strain": "" if week.strain is None else round(week.strain),
    }


@require_safe
@members_only
def progress_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Everything that shows whether I am getting better."""
    now, typed = timezone.now(), request.GET.get("since", "")
    since, fault = None, ""
    try:
        since = read_since(typed, today_of(viewer, now))
    except Refused as refused:
        fault = fault_text(refused.items)
    level = level_of(member=viewer, viewer=viewer, now=now, since=since)
    scores = progress.own_scores(member=viewer, viewer=viewer)
    weeks, sessions = progress.load_weeks(scores), progress.sessions(scores)
    volumes = progress.volumes(scores)
    return render(
        request,
        "scoring/progress.html",
        {
            "has_any": bool(scores),
            "level": level and shown(level, YOU, typed=typed, fault=fault),
            "bests": progress.bests(progress.unquestioned(scores)),
            "weeks": [_week(week, sessions) for week in weeks[::-1][:WEEKS]],
            "unbroken": progress.unbroken_bests(scores),
            "load_picture": load_picture(weeks),
            "volumes": volumes[::-1][:WEEKS],
            "volume_picture": volume_picture(volumes),
            "balances": progress.balances(scores),
            "steps": progress.steps(scores),
            "attendance": progress.attendance(member=viewer, viewer=viewer, now=now),
        },
        status=422 if fault else 200,
    )
