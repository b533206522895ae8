"""My history: every result, repeats side by side, and a picture of progress."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from members.selectors import members_of
from scoring import access
from scoring.core.estimation.level_words import THEY, YOU
from scoring.selectors.levels import level_of
from scoring.selectors.results import HistoryRow, history, repeats

from .level import shown
from .viewer import coaches_only, members_only

ROWS_A_PAGE = 40


@dataclass(frozen=True, slots=True)
class Repeated:
    """A workout done more than once, the oldest first, under its newest title."""

    title: str
    times: int
    rows: list[HistoryRow]


def _context(request: HttpRequest, member: Membership, viewer: Membership) -> dict[str, Any]:
    is_own = member.pk == viewer.pk
    level = level_of(member=member, viewer=viewer, now=timezone.now())
    rows = history(member=member, viewer=viewer, level=level)
    return {
        "member": member,
        "is_own": is_own,
        "page": Paginator(rows, ROWS_A_PAGE).get_page(request.GET.get("page")),
        "total": len(rows),
        "repeats": [
            Repeated(again.rows[-1].score.streamed_class.workout.title, again.times, again.rows)
            for again in repeats(found=rows)
        ],
        "level": level and shown(level, YOU if is_own else THEY),
    }


@require_safe
@members_only
def history_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Everything of one's own."""
    return render(request, "scoring/history.html", _context(request, viewer, viewer))


@require_safe
@coaches_only
def member_history(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """A member's history, for their coaches to follow up."""
    member = members_of(viewer.gym).filter(pk=pk).first()
    if member is None or not access.may_see_history(viewer, member):
        raise Http404
    return render(request, "scoring/history.html", _context(request, member, viewer))
