"""One member, for their coaches: how they are getting on, and notes on them."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.views.decorators.http import require_http_methods

from members.keys import is_key
from members.models import Membership
from members.selectors import members_of
from scoring.core.estimation.level_words import THEY
from scoring.models import Score
from scoring.problems import Item, Refused, refuse
from scoring.selectors.levels import read_since, today_of
from scoring.selectors.member import member_seen
from scoring.selectors.notes import note_for
from scoring.services.notes import MAX_WHY, MAX_WORDS, add_note, strike_note

from .chart import Point, bar_chart
from .level import fault_text, shown
from .viewer import coaches_only

EFFORTS = 20
RESULTS = 6
NOTES_A_PAGE = 20


def effort_picture(scores: list[Score]) -> SafeString:
    """Efforts told, the oldest first; ``scores`` are the newest first."""
    told = [score for score in scores if score.fact.effort is not None][:EFFORTS][::-1]
    if len(told) < 2:
        return SafeString("")

    def day(score: Score) -> str:
        return date_format(score.streamed_class.starts_at, "j M")

    efforts = [score.fact.effort or 0 for score in told]
    return bar_chart(
        [
            Point(day(s), e, f"{day(s)}: {e}, {s.streamed_class.workout.title}")
            for s, e in zip(told, efforts, strict=True)
        ],
        name="effort",
        title="Effort told, 0 to 10",
        told=f"{len(told)} classes from {day(told[0])} to {day(told[-1])}: "
        + ", ".join(map(str, efforts)),
    )


@require_http_methods(["GET", "HEAD", "POST"])
@coaches_only
def member_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The page, and writing a note or striking one out on it."""
    member = members_of(viewer.gym).filter(pk=pk).first()
    if member is None:
        raise Http404
    faults: list[Item] = []
    if request.method == "POST":
        try:
            messages.success(request, _act(request, viewer, member))
            return redirect("member-page", pk=pk)
        except Refused as refused:
            faults = refused.items
    now, typed = timezone.now(), request.GET.get("since", "")
    since, wrong_day = None, ""
    try:
        since = read_since(typed, today_of(viewer, now))
    except Refused as refused:
        wrong_day = fault_text(refused.items)
    seen = member_seen(member=member, viewer=viewer, now=now, since=since)
    if seen is None:
        raise Http404
    post = request.POST
    context = {
        "seen": seen,
        "member": member,
        "page": Paginator(seen.notes, NOTES_A_PAGE).get_page(request.GET.get("page")),
        "results": seen.scores[:RESULTS],
        "level": seen.level and shown(seen.level, THEY, typed=typed, fault=wrong_day),
        "effort_picture": effort_picture(seen.scores),
        "steps": {name: taken[::-1][:RESULTS] for name, taken in seen.steps.items()},
        "faults": faults,
        "fault": {item.column: f"{item.problem} {item.suggestion}" for item in faults},
        "typed": {"words": post.get("words", ""), "why": post.get("why", "")},
        "wrong": post.get("note", "") if faults else "",
        "most_words": MAX_WORDS,
        "most_why": MAX_WHY,
    }
    return render(
        request, "scoring/coach/member.html", context, status=422 if faults or wrong_day else 200
    )


def _act(request: HttpRequest, viewer: Membership, member: Membership) -> str:
    now, post = timezone.now(), request.POST
    if post.get("act") == "add":
        add_note(member=member, by=viewer, words=post.get("words", ""), now=now)
        return "The note is kept."
    if post.get("act") == "strike":
        asked = post.get("note", "")
        note = note_for(viewer=viewer, pk=int(asked)) if is_key(asked) else None
        if note is None or note.member_id != member.pk:
            raise refuse("note", "That note is not of this member.", "Reload the page.")
        strike_note(note=note, by=viewer, why=post.get("why", ""), now=now)
        return "The note is struck out; it stays readable as such."
    raise refuse("act", "That button is not known.", "Reload the page.")
