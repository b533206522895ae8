"""Changing a plan: move or delete a draft, copy a week into another."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from members.keys import is_key
from members.models import Membership
from scoring.core.iso_week import IsoWeek
from scoring.core.week_copy import Copy, Standing
from scoring.models import State, StreamedClass
from scoring.problems import Item, Refused
from scoring.selectors.plan import copy_preview, zone_of
from scoring.services.planning import NO_DRAFT, copy_week, delete_draft, move_draft

from .plan_read import read_moment, read_week, shown_week, today_of
from .plan_week import to_week
from .viewer import class_to_manage, coaches_only

WEEKS_OFFERED = 12


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def move(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Another day or time for a draft."""
    streamed = class_to_manage(viewer, pk)
    zone = zone_of(viewer)
    local = streamed.starts_at.astimezone(zone)
    given = {"day": f"{local:%Y-%m-%d}", "clock": f"{local:%H:%M}"}
    fault: dict[str, str] = dict.fromkeys(("day", "clock", ""), "")
    if request.method == "POST":
        given = {name: request.POST.get(name, "") for name in given}
        try:
            starts_at = read_moment(given["day"], given["clock"], zone)
            now = timezone.now()
            moved = move_draft(streamed_class=streamed, by=viewer, starts_at=starts_at, now=now)
        except Refused as refused:
            fault |= {i.column: f"{i.problem} {i.suggestion}".strip() for i in refused.items}
        else:
            local = moved.starts_at.astimezone(zone)
            messages.success(request, f"{moved.workout.title}: now on {local:%A %-d %B, %H:%M}.")
            return to_week(moved.starts_at, viewer)
    context = _about(streamed, viewer) | {"given": given, "fault": fault, "said": fault[""]}
    status = 422 if any(fault.values()) else 200
    return render(request, "scoring/coach/draft_move.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def delete(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Say what goes and what stays, then delete a draft."""
    streamed = class_to_manage(viewer, pk)
    faults: list[Item] = []
    if request.method == "POST":
        title, starts_at = streamed.workout.title, streamed.starts_at
        try:
            delete_draft(streamed_class=streamed, by=viewer, now=timezone.now())
        except Refused as refused:
            faults = refused.items
        else:
            messages.success(request, f"The draft {title} is deleted.")
            return to_week(starts_at, viewer)
    context = _about(streamed, viewer) | {"faults": faults}
    status = 422 if faults else 200
    return render(request, "scoring/coach/draft_delete.html", context, status=status)


def _about(streamed: StreamedClass, viewer: Membership) -> dict[str, Any]:
    local = streamed.starts_at.astimezone(zone_of(viewer))
    return {
        "streamed": streamed,
        "week": IsoWeek.of(local.date()),
        "starts": f"{local:%A %-d %B %Y, %H:%M}",
        "is_draft": streamed.state == State.DRAFT,
        "no_draft": NO_DRAFT,
    }


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def copy(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """What would be made of each class of a week in another, and making it."""
    sent = request.POST if request.method == "POST" else request.GET
    this = IsoWeek.of(today_of(viewer))
    faults: list[Item] = []
    source = target = this
    try:
        source = read_week(sent.get("week", "") or str(this))
        target = source.plus(1)
        target = read_week(sent.get("to", "") or str(target), "to")
        if request.method == "POST":
            return _copied(request, viewer, source, target)
    except Refused as refused:
        faults = refused.items
    rows = copy_preview(viewer=viewer, source=source, target=target) if source != target else []
    context = {
        "source": source,
        "target": target,
        "shown": shown_week(source.monday),
        "shown_target": shown_week(target.monday),
        "weeks": _weeks(this, source, target),
        "rows": [_row(streamed, made, viewer) for streamed, made in rows],
        "has_new": any(made.standing is not Standing.THERE for _, made in rows),
        "with_notes": "with_notes" in sent,
        "has_notes": any(streamed.note for streamed, _ in rows),
        "faults": faults,
    }
    status = 422 if faults else 200
    return render(request, "scoring/coach/plan_copy.html", context, status=status)


def _weeks(this: IsoWeek, source: IsoWeek, target: IsoWeek) -> list[dict[str, Any]]:
    offered = {this.plus(n) for n in range(WEEKS_OFFERED)} | {source.plus(1), target}
    return [
        {"key": str(week), "shown": shown_week(week.monday), "is_chosen": week == target}
        for week in sorted(offered - {source})
    ]


def _row(streamed: StreamedClass, made: Copy, viewer: Membership) -> dict[str, Any]:
    zone = zone_of(viewer)
    local = made.starts_at.astimezone(zone)
    there = made.there.starts_at.astimezone(zone) if made.there else None
    return {
        "streamed": streamed,
        "starts": f"{local:%A %-d %B, %H:%M}",
        "is_there": made.standing is Standing.THERE,
        "there_at": f"{there:%H:%M}" if there and made.standing is Standing.OTHER_TIME else "",
        "is_shifted": made.is_shifted,
        "is_past": made.starts_at < timezone.now() - timedelta(minutes=1),
    }


def _copied(
    request: HttpRequest, viewer: Membership, source: IsoWeek, target: IsoWeek
) -> HttpResponse:
    done = copy_week(
        by=viewer,
        source=source,
        target=target,
        chosen=[int(key) for key in request.POST.getlist("class") if is_key(key)],
        with_notes="with_notes" in request.POST,
        now=timezone.now(),
    )
    made = len(done.made)
    drafts = f"{made} draft{'' if made == 1 else 's'} made"
    there = f", {done.there} stood there already" if done.there else ""
    messages.success(request, f"{drafts if made else 'No draft made'}{there}.")
    return redirect(f"{reverse('plan-week')}?{urlencode({'week': str(target)})}")
