"""This week: what is coming, in the viewer's own time zone."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.models import State
from scoring.selectors.week import lasts, week_ahead

from .viewer import members_only


@require_safe
@members_only
def week(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Today and the next seven days."""
    now = timezone.now()
    days = week_ahead(viewer=viewer, zone=viewer.zone, now=now)
    told = [
        {
            "date": day.date,
            "classes": [
                {
                    "streamed": streamed,
                    "minutes": round(lasts(streamed).total_seconds() / 60),
                    "is_open": streamed.state == State.OPEN,
                    "has_begun": streamed.starts_at <= now,
                }
                for streamed in day.classes
            ],
        }
        for day in days
    ]
    today = now.astimezone(viewer.zone).date()
    return render(request, "scoring/week.html", {"days": told, "today": today})
