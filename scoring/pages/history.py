"""My history: every result, repeats side by side, and a picture of progress."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.selectors.results import HistoryRow, history, repeats

from .chart import Point, line_chart
from .viewer import members_only

ROWS_A_PAGE = 40
POINTS = 40


@dataclass(frozen=True, slots=True)
class Repeated:
    """A workout done more than once, the oldest first, under its newest title."""

    title: str
    rows: list[HistoryRow]


def _day(row: HistoryRow, pattern: str = "j M") -> str:
    starts = row.score.streamed_class.starts_at
    return date_format(timezone.localtime(starts), pattern)


def progress(rows: Sequence[HistoryRow]) -> SafeString:
    """The pace against the middle of each class, over the newest results."""
    newest = list(rows[:POINTS])[::-1]
    points = [
        Point(
            _day(row),
            row.index,
            f"{_day(row)}: {row.index}, {row.score.streamed_class.workout.title}",
        )
        for row in newest
    ]
    if len(points) < 2:
        return SafeString("")
    told = (
        f"{len(points)} results from {_day(newest[0], 'j F Y')} to {_day(newest[-1], 'j F Y')}; "
        f"the first at {points[0].value}, the last at {points[-1].value}, "
        f"between {min(p.value for p in points)} and {max(p.value for p in points)}. "
        "The list below has every figure."
    )
    return line_chart(
        points, name="progress", title="My pace against the middle of each class", told=told
    )


@require_safe
@members_only
def history_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Everything of one's own."""
    rows = history(member=viewer, viewer=viewer)
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
            "chart": progress(rows),
        },
    )
