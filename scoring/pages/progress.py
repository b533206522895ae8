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
from scoring.core.figures import figure
from scoring.core.iso_week import IsoWeek
from scoring.core.training import Week
from scoring.models import Score
from scoring.selectors import progress

from .chart import Point, band_chart, bar_chart
from .viewer import members_only

POINTS = 40
WEEKS = 12


def _day(score: Score, pattern: str = "j M") -> str:
    return date_format(score.streamed_class.starts_at, pattern)


def _monday(monday: date) -> str:
    return date_format(monday, "j M")


def index_picture(points: list[progress.IndexPoint]) -> SafeString:
    """The pace against each class, with the band in which the true one most likely lies."""
    if len(points) < 2:
        return SafeString("")
    newest = points[-POINTS:]
    told = (
        f"{len(newest)} classes from {_day(newest[0].score, 'j F Y')} to "
        f"{_day(newest[-1].score, 'j F Y')}, the first at {newest[0].index}, the last at "
        f"{newest[-1].index}. The table below has every figure."
    )
    return band_chart(
        [
            Point(
                _day(p.score),
                p.index,
                f"{_day(p.score)}: {p.index}, {p.score.streamed_class.workout.title}",
            )
            for p in newest
        ],
        [p.low for p in newest],
        [p.high for p in newest],
        name="index",
        title="My pace against the middle of each class",
        told=told,
    )


def load_picture(weeks: tuple[Week, ...]) -> SafeString:
    """Session load by week."""
    newest = weeks[-WEEKS:]
    if len(newest) < 2:
        return SafeString("")
    return bar_chart(
        [
            Point(_monday(w.monday), round(w.load), f"week of {_monday(w.monday)}: {round(w.load)}")
            for w in newest
        ],
        name="load",
        title="Session load by week",
        told=f"{len(newest)} weeks; the last at {round(newest[-1].load)}. The table has them all.",
    )


def volume_picture(volumes: tuple[progress.Volume, ...]) -> SafeString:
    """Reps by week."""
    newest = volumes[-WEEKS:]
    if len(newest) < 2:
        return SafeString("")
    totals = [(v.monday, sum(v.movements.values())) for v in newest]
    return bar_chart(
        [Point(_monday(m), reps, f"week of {_monday(m)}: {reps} reps") for m, reps in totals],
        name="volume",
        title="Reps by week",
        told=f"{len(newest)} weeks; the last with {totals[-1][1]} reps. The table has them all.",
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
    scores = progress.own_scores(member=viewer, viewer=viewer)
    points = progress.index_series(scores)
    weeks, sessions = progress.load_weeks(scores), progress.sessions(scores)
    volumes = progress.volumes(scores)
    return render(
        request,
        "scoring/progress.html",
        {
            "has_any": bool(scores),
            "points": points[::-1][:POINTS],
            "index_picture": index_picture(points),
            "bests": progress.bests(scores),
            "weeks": [_week(week, sessions) for week in weeks[::-1][:WEEKS]],
            "unbroken": progress.unbroken_bests(scores),
            "load_picture": load_picture(weeks),
            "volumes": volumes[::-1][:WEEKS],
            "volume_picture": volume_picture(volumes),
            "balances": progress.balances(scores),
            "steps": progress.steps(scores),
            "attendance": progress.attendance(member=viewer, viewer=viewer, now=timezone.now()),
        },
    )
