"""The board of a class, and its rows alone for a page that refreshes itself."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.cache import patch_cache_control
from django.views.decorators.http import condition, require_safe

from members.models import Membership
from members.selectors import current_membership
from scoring.boards import VIEWS, View
from scoring.models import State, StreamedClass
from scoring.selectors.boards import PAGE, board, board_version
from scoring.selectors.classes import class_for

from .viewer import class_or_404, members_only


def _view(request: HttpRequest) -> View:
    asked = request.GET.get("view", "all")
    return next((view for view in VIEWS if view == asked), "all")


def _offset(request: HttpRequest) -> int:
    asked = request.GET.get("from", "0")
    return min(int(asked), 10_000_000) if asked.isascii() and asked.isdigit() else 0


def _context(
    request: HttpRequest, viewer: Membership, streamed: StreamedClass
) -> dict[str, object]:
    offset = _offset(request)
    shown = board(
        streamed_class=streamed,
        viewer=viewer,
        now=timezone.now(),
        view=_view(request),
        offset=offset,
    )
    following = offset + PAGE
    return {
        "streamed": streamed,
        "board": shown,
        "is_open": streamed.state == State.OPEN,
        "views": [("all", "everybody"), ("prescribed", "as prescribed"), ("scaled", "scaled")],
        "before": max(0, offset - PAGE) if offset else None,
        "after": following if shown and following < shown.total else None,
    }


@require_safe
@members_only
def board_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The whole page."""
    streamed = class_or_404(viewer, pk)
    return render(request, "scoring/board.html", _context(request, viewer, streamed))


def _etag(request: HttpRequest, pk: int) -> str | None:
    viewer = current_membership(request)
    streamed = class_for(viewer=viewer, pk=pk)
    if streamed is None:
        return None
    version = board_version(streamed, viewer)
    return f'"{version}.{_view(request)}.{_offset(request)}"'


@require_safe
@condition(etag_func=_etag)
@members_only
def board_rows(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The rows alone, free of tokens, so that an unchanged board costs a 304."""
    streamed = class_or_404(viewer, pk)
    answer = render(request, "scoring/_board_rows.html", _context(request, viewer, streamed))
    patch_cache_control(answer, private=True, no_cache=True)
    return answer
