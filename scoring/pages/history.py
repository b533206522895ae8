"""My history: every result, repeats side by side, and a picture of progress."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.selectors.progress import index_series, own_scores
from scoring.selectors.results import HistoryRow, history, repeats

from .progress import index_picture
from .viewer import members_only

ROWS_A_PAGE = 40


@dataclass(frozen=True, slots=True)
class Repeated:
    """A workout done more than once, the oldest first, under its newest title."""

    title: str
    rows: list[HistoryRow]


@require_safe
@members_only
def history_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Everything of one's own."""
    rows = history(member=viewer, viewer=viewer)
    points = index_series(own_scores(member=viewer, viewer=viewer))
    again = [
        Repeated(found[-1].score.streamed_class.workout.title, found)
        for found in repeats(member=viewer, viewer=viewer)
    ]
    return render(
        request,
        "scoring/history.html",
        {
            "page": Paginator(rows, ROWS_A_PAGE).get_page(request.GET.get("page")),
            "total": len(rows),
            "repeats": again,
            "chart": index_picture(points),
        },
    )
