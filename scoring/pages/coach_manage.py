"""The page a coach keeps open while results come in, and what its buttons do."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import patch_cache_control
from django.utils.http import quote_etag
from django.views.decorators.http import condition, require_http_methods, require_safe

from members.limits import limited
from members.models import Membership
from scoring.core.iso_week import IsoWeek
from scoring.models import State, StreamedClass
from scoring.problems import Item, Refused
from scoring.selectors.live import PAGE, live, live_version
from scoring.selectors.plan import zone_of

from .class_page import briefing
from .coach_acts import act, result_of
from .coach_line import LineForm, line_form, log_the_line
from .coach_result import correct_form, log_form
from .local_time import field_time
from .viewer import class_to_manage, coaches_only

REFRESH_SECONDS = 5
FEW_OTHERS = 40
FEW_USUAL = 60
FEW_QUESTIONS = 15
"""So many names and questions are shown unasked: the part that renews itself stays small."""


@require_http_methods(["GET", "HEAD", "POST"])
@limited("submit")
@coaches_only
def class_manage(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """A class while it runs and after: who logged and who is missing, what is asked, what
    came in last, and one line to log for somebody."""
    streamed = class_to_manage(viewer, pk)
    form = line_form(request, viewer, streamed)
    faults: list[Item] = []
    status = 200
    if request.method == "POST" and request.POST.get("act") == "line":
        done = log_the_line(request, viewer, streamed, form)
        if done is not None:
            return done
        status = 422 if form.items else 200  # a question is no fault
    elif request.method == "POST":
        try:
            return act(request, viewer, streamed)
        except Refused as refused:
            faults, status = refused.items, 422
            if request.POST.get("act") == "log":
                return log_form(request, streamed, faults)
            result = result_of(viewer, streamed, request.POST.get("result", ""))
            if result is not None:
                return correct_form(request, result, faults)
    return render(
        request,
        "scoring/coach/manage.html",
        _page(request, viewer, streamed, form)
        | {"faults": faults}
        | _closing(request, streamed, faults),
        status=status,
    )


def _closing(request: HttpRequest, streamed: StreamedClass, faults: list[Item]) -> dict[str, str]:
    """When the class closes by itself, as typed or as it is, and what is wrong with it."""
    wrong = [f"{item.problem} {item.suggestion}" for item in faults if item.column == "closes_at"]
    typed = request.POST.get("closes_at")
    return {
        "closes_at": field_time(streamed.closes_at) if typed is None else typed,
        "closing_fault": " ".join(wrong),
    }


@require_safe
@coaches_only
def class_live(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The part that renews itself; unchanged it is answered by 304."""
    streamed = class_to_manage(viewer, pk)

    @condition(etag_func=lambda request: _tag(request, viewer, streamed))
    def part(request: HttpRequest) -> HttpResponse:
        context = _live(request, viewer, streamed) | {"is_part": True}
        return render(request, "scoring/coach/_live.html", context)

    response = part(request)
    patch_cache_control(response, private=True, no_cache=True)
    return response


def _asked(request: HttpRequest) -> dict[str, str]:
    """What of the lists is shown: the first row, a name looked for, all the others."""
    get = request.GET
    start = get.get("start", "")
    return {
        "start": start if start.isascii() and start.isdigit() and len(start) < 8 else "",
        "name": get.get("name", "").strip()[:80],
        "others": "1" if get.get("others") == "1" else "",
    }


def _tag(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> str:
    asked = urlencode(_asked(request))
    return quote_etag(f"{live_version(streamed_class=streamed, viewer=viewer)}.{asked}")


def _live(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> dict[str, Any]:
    asked = _asked(request)
    offset = int(asked["start"] or 0)
    # The version first: what comes between is then told again, never left out.
    tag = _tag(request, viewer, streamed)
    shown = live(streamed_class=streamed, viewer=viewer, offset=offset, name=asked["name"])
    assert shown is not None  # asked for a class that the viewer manages

    def link(**changed: Any) -> str:
        kept = {k: v for k, v in (asked | changed).items() if v}
        return reverse("class-manage", args=[streamed.pk]) + (f"?{urlencode(kept)}" if kept else "")

    others = shown.missing_others
    return {
        "streamed": streamed,
        "live": shown,
        "tag": tag,
        "asked": asked,
        "query": "?" + urlencode({k: v for k, v in asked.items() if v}),
        "usual": shown.missing_usual if asked["others"] else shown.missing_usual[:FEW_USUAL],
        "questions": shown.questions[:FEW_QUESTIONS],
        "others": others if asked["others"] or len(others) <= FEW_OTHERS else [],
        "others_link": link(others="1") + "#missing",
        "before": link(start=max(0, offset - PAGE)) + "#logged" if offset else "",
        "after": link(start=offset + PAGE) + "#logged" if offset + PAGE < shown.listed else "",
        "first": offset + 1,
        "last": offset + len(shown.newest),
        "everybody": link(start="", name="") + "#logged",
    }


def _page(
    request: HttpRequest, viewer: Membership, streamed: StreamedClass, form: LineForm
) -> dict[str, Any]:
    moves = streamed.state == State.OPEN and request.GET.get("still") != "1"
    context = briefing(streamed) | {
        "streamed": streamed,
        "week": IsoWeek.of(streamed.starts_at.astimezone(zone_of(viewer)).date()),
        "form": form,
        "is_draft": streamed.state == State.DRAFT,
        "is_open": streamed.state == State.OPEN,
        "is_closed": streamed.state == State.CLOSED,
        "moves": moves,
        "refresh": REFRESH_SECONDS,
    }
    if streamed.state != State.DRAFT:
        context |= _live(request, viewer, streamed)
    return context
