"""Following up: whom to have a word with, and what became of it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from members.keys import is_key
from members.models import Membership
from scoring.core.follow_up import SILENT_AT_LEAST, SILENT_AT_MOST, Reason
from scoring.models import StreamedClass
from scoring.problems import Item, Refused, refuse
from scoring.selectors.classes import class_for
from scoring.selectors.follow_up import (
    follow_ups,
    fresh_classes,
    member_for,
    person_of,
    put_away,
    silent_days_of,
)
from scoring.services.follow_up import (
    hide_for_good,
    mark_done,
    put_off,
    read_reason,
    take_back,
)
from scoring.services.follow_up_words import save_silent_days

from .viewer import coaches_only

ON_A_PAGE = 20
AWAY_SHOWN = 50


def class_asked(viewer: Membership, text: str) -> StreamedClass | None:
    """The class of ``?class=``; none is the whole gym. One that is not there is a 404."""
    if not text:
        return None
    found = class_for(viewer=viewer, pk=int(text)) if is_key(text) else None
    if found is None:
        raise Http404
    return found


def back_to(streamed: StreamedClass | None) -> str:
    """The list one came from."""
    return reverse("follow-up") + (f"?class={streamed.pk}" if streamed else "")


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def follow_up(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Everybody with an open reason, of the gym or of one class."""
    now = timezone.now()
    streamed = class_asked(viewer, request.GET.get("class", ""))
    faults: list[Item] = []
    if request.method == "POST":
        try:
            messages.success(request, _act(request, viewer, streamed, now))
            number = request.GET.get("page", "")
            joint = "&" if streamed else "?"
            on = f"{joint}page={number}" if is_key(number) else ""
            return redirect(back_to(streamed) + on)
        except Refused as refused:
            faults = refused.items
    people = follow_ups(viewer=viewer, now=now, streamed_class=streamed)
    page = Paginator(people, ON_A_PAGE).get_page(request.GET.get("page"))
    tomorrow = now.astimezone(ZoneInfo(viewer.gym.timezone)).date() + timedelta(days=1)
    days = request.POST.get("silent_days") if faults else None
    context = {
        "streamed": streamed,
        "classes": fresh_classes(viewer=viewer, now=now),
        "people": people,
        "page": page,
        "away": put_away(viewer=viewer, now=now)[:AWAY_SHOWN],
        "away_shown": AWAY_SHOWN,
        "tomorrow": tomorrow,
        "next_week": tomorrow + timedelta(days=6),
        "silent_days": days if days is not None else silent_days_of(viewer.gym),
        "least": SILENT_AT_LEAST,
        "most": SILENT_AT_MOST,
        "is_to_come": streamed is not None and streamed.starts_at > now,
        "faults": faults,
        "wrong": _which(request) if faults else "",
        "typed_until": request.POST.get("until", ""),
    }
    return render(request, "scoring/coach/follow_up.html", context, status=422 if faults else 200)


def _which(request: HttpRequest) -> str:
    """Which reason of the list a form belonged to."""
    post = request.POST
    return f"{post.get('member', '')}-{post.get('reason', '')}-{post.get('occasion', '')}"


def _act(
    request: HttpRequest, viewer: Membership, streamed: StreamedClass | None, now: datetime
) -> str:
    """Do what a button of the page asks for; answers what was done."""
    post = request.POST
    act = post.get("act", "")
    if act == "silent":
        text = post.get("silent_days", "")
        days = int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None
        chosen = save_silent_days(by=viewer, days=days, now=now)
        return f"Silence is told of after {chosen.silent_days} days."
    if act == "undo":
        asked = post.get("row", "")
        found = put_away(viewer=viewer, now=now).filter(pk=int(asked) if is_key(asked) else 0)
        away = found.first()
        if away is None:
            raise refuse("row", "That was taken back already.", "Reload the page.", "conflict")
        take_back(row=away, by=viewer, now=now)
        return f"Taken back: {away.member.display_name}, {away.get_reason_display()}."
    asked = post.get("member", "")
    member = member_for(viewer=viewer, pk=int(asked) if is_key(asked) else 0)
    if member is None:
        raise refuse("member", "Nobody of this gym was named.", "Reload the page.")
    reason = read_reason(post.get("reason", ""))
    if act == "never":
        hide_for_good(member=member, by=viewer, reason=reason, now=now)
        return f"Not told of {member.display_name} again: {reason.label}."
    try:
        occasion = open_occasion(viewer, member, reason, post.get("occasion", ""), streamed, now)
    except Refused:
        if act != "done":
            raise
        return f"Done already: {member.display_name}, {reason.label}."  # pressed twice
    if act == "done":
        mark_done(member=member, by=viewer, reason=reason, occasion=occasion, now=now)
        return f"Done: {member.display_name}, {reason.label}."
    if act == "later":
        until = read_day(post.get("until", ""))
        row = put_off(
            member=member, by=viewer, reason=reason, occasion=occasion, until=until, now=now
        )
        day = f"{row.until.day} {row.until:%B}" if row.until else ""
        return f"{member.display_name}, {reason.label}: on the list again from {day}."
    raise refuse("act", "That button is not known.", "Reload the page.")


def open_occasion(
    viewer: Membership,
    member: Membership,
    reason: Reason,
    occasion: str,
    streamed: StreamedClass | None,
    now: datetime,
) -> str:
    """The occasion, if it is open for the member. Raises ``Refused``."""
    person = person_of(viewer=viewer, member=member, now=now, streamed_class=streamed)
    found = person.reason(reason, occasion) if person else None
    if found is None:
        raise refuse("occasion", "That was seen to already.", "Reload the page.", "conflict")
    return found.occasion


def read_day(text: str) -> date | None:
    """A day as a browser writes it, ``2026-12-01``."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
