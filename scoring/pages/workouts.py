"""Past workouts: find one, see how it went, use it again or repeat it to compare."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from members.models import Membership
from scoring.core import catalogue
from scoring.core.movements import Pattern
from scoring.core.prescription import clock_text
from scoring.problems import Item, Refused
from scoring.selectors.plan import zone_of
from scoring.selectors.searching import Asked, Went, search, went
from scoring.selectors.workouts import workout_for
from scoring.services.planning import repeat_workout
from scoring.services.searching import index_workouts, missing_index

from .plan_read import read_day, read_moment, today_of
from .plan_week import USUAL_CLOCK, to_week
from .viewer import coaches_only

A_PAGE = 20
FIELDS = ("words", "movement", "pattern", "shortest", "longest", "ran_from", "ran_to")
FINE = ("pattern", "shortest", "longest", "ran_from", "ran_to")
MOST_MINUTES = 360
LONGEST_WORD = 80


@dataclass(frozen=True, slots=True)
class Found:
    """A workout of the list."""

    workout: Any
    last: str
    cap: str
    went: Went | None


@require_safe
@coaches_only
def workout_search(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Every workout of the gym, or those that have what is asked for."""
    given = {name: request.GET.get(name, "").strip()[:LONGEST_WORD] for name in FIELDS}
    faults: list[Item] = []
    asked = Asked()
    try:
        asked = read_asked(given)
    except Refused as refused:
        faults = refused.items
    index_workouts(gym=viewer.gym)
    found = search(viewer=viewer, asked=asked, now=timezone.now())
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "given": given,
        "fault": dict.fromkeys(FIELDS, "")
        | {i.column: f"{i.problem} {i.suggestion}".strip() for i in faults},
        "faults": faults,
        "patterns": [pattern.value for pattern in Pattern],
        "fine": "yes" if any(given[name] for name in FINE) else "",
        "meant": catalogue.suggest(given["movement"]) if given["movement"] else None,
        "page": page,
        "rows": told(list(page), viewer),
        "day": request.GET.get("day", "")[:10],
        "waiting": missing_index(gym=viewer.gym).count(),
        "is_asked": any(given.values()),
    }
    status = 422 if faults else 200
    return render(request, "scoring/coach/workouts.html", context, status=status)


def read_asked(given: dict[str, str]) -> Asked:
    """What a form asks for. Raises ``Refused`` with one item a field that can't be read."""
    items: list[Item] = []

    def minutes(name: str) -> int | None:
        text = given[name]
        if not text:
            return None
        if text.isascii() and text.isdigit() and len(text) < 4 and int(text) <= MOST_MINUTES:
            return int(text) * 60
        items.append(Item(name, "That is no number of minutes.", "Write 12, or leave it."))
        return None

    def day(name: str) -> date | None:
        try:
            return read_day(given[name], name) if given[name] else None
        except Refused as refused:
            items.extend(refused.items)
            return None

    asked = Asked(
        words=given["words"],
        movement=given["movement"],
        pattern=next((p for p in Pattern if p.value == given["pattern"]), None),
        shortest=minutes("shortest"),
        longest=minutes("longest"),
        ran_from=day("ran_from"),
        ran_to=day("ran_to"),
    )
    if given["pattern"] and asked.pattern is None:
        items.append(Item("pattern", "There is no such pattern.", "Choose one of the list."))
    if items:
        raise Refused(*items)
    return asked


def told(rows: list[Any], viewer: Membership) -> list[Found]:
    """Workouts of one page with how they went when they ran last."""
    how = went(viewer=viewer, classes=[row.last_class for row in rows])
    zone = zone_of(viewer)
    return [
        Found(
            row,
            f"{row.last_ran.astimezone(zone):%-d %B %Y}" if row.last_ran else "",
            clock_text(row.index.seconds) if row.index.seconds else "",
            how.get(row.last_class),
        )
        for row in rows
    ]


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def workout_repeat(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The same workout on another day, as a draft."""
    workout = workout_for(viewer=viewer, pk=pk)
    if workout is None:
        raise Http404
    sent = request.POST if request.method == "POST" else request.GET
    given = {
        "day": sent.get("day", "") or f"{today_of(viewer) + timedelta(days=1)}",
        "clock": sent.get("clock", "") or USUAL_CLOCK,
    }
    fault: dict[str, str] = dict.fromkeys(given, "")
    if request.method == "POST":
        try:
            starts_at = read_moment(given["day"], given["clock"], zone_of(viewer))
            now = timezone.now()
            made = repeat_workout(workout=workout, by=viewer, starts_at=starts_at, now=now)
        except Refused as refused:
            fault |= {i.column: f"{i.problem} {i.suggestion}".strip() for i in refused.items}
        else:
            messages.success(request, f"{workout.title} is planned, as a draft.")
            return to_week(made.starts_at, viewer)
    context = {"workout": workout, "given": given, "fault": fault}
    status = 422 if any(fault.values()) else 200
    return render(request, "scoring/coach/workout_repeat.html", context, status=status)
