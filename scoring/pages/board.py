"""The board of a class, and the rows that refresh themselves while it is open."""

from __future__ import annotations

from functools import lru_cache
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_cache_control
from django.utils.http import quote_etag
from django.utils.safestring import SafeString
from django.views.decorators.http import condition, require_safe

from members.models import Membership
from scoring import access, metrics
from scoring.boards import View
from scoring.models import State, StreamedClass
from scoring.selectors.board_rows import BoardRow
from scoring.selectors.boards import PAGE, board, board_version

from .viewer import class_or_404, members_only


@lru_cache(maxsize=20_000)
def _item(row: BoardRow) -> SafeString:
    """A row's HTML. What it says hangs on the row alone, so it is written once."""
    context = {"row": row, "href": reverse("result", args=[row.result_id])}
    return render_to_string("scoring/_board_row.html", context)


VIEWS: dict[str, tuple[View, str]] = {
    "all": ("all", "Everybody"),
    "prescribed": ("prescribed", "As prescribed"),
    "scaled": ("scaled", "Scaled"),
}
REFRESH_SECONDS = 15


def _asked(request: HttpRequest) -> tuple[View, int, bool]:
    """The view, the first row and whether the page refreshes itself."""
    view = VIEWS.get(request.GET.get("view", ""), VIEWS["all"])[0]
    start = request.GET.get("start", "")
    offset = int(start) if start.isascii() and start.isdigit() and len(start) < 8 else 0
    return view, offset, request.GET.get("still") != "1"


def _tag(streamed: StreamedClass, viewer: Membership, view: View, offset: int) -> str:
    return quote_etag(f"{board_version(streamed, viewer)}.{view}.{offset}")


def _context(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> dict[str, Any]:
    view, offset, moves = _asked(request)
    shown = board(
        streamed_class=streamed,
        viewer=viewer,
        now=timezone.now(),
        view=view,
        offset=offset,
        with_neighbours=False,
    )
    is_open = streamed.state == State.OPEN

    def link(**changed: Any) -> str:
        asked = {"view": view, "start": offset, "still": 0 if moves else 1} | changed
        return "?" + urlencode({k: v for k, v in asked.items() if v not in (0, "all")})

    own_here = shown is not None and any(row.is_own for row in shown.rows)
    return {
        "streamed": streamed,
        "board": shown,
        "items": SafeString("".join(map(_item, shown.rows))) if shown else "",
        "is_open": is_open,
        "moves": moves and is_open,
        "refresh": REFRESH_SECONDS,
        "own_here": own_here,
        "is_all": view == "all",
        "may_manage": access.may_manage(viewer, streamed),
        "tag": _tag(streamed, viewer, view, offset),
        "query": link(),
        "tab_links": [
            {"label": label, "href": link(view=name, start=0), "is_here": name == view}
            for name, (_, label) in VIEWS.items()
        ],
        "still_link": link(still=1),
        "moving_link": link(still=0),
        "before": link(start=max(0, offset - PAGE)) if offset else "",
        "after": link(start=offset + PAGE) if shown and offset + PAGE < shown.total else "",
        "first": offset + 1,
        "last": offset + len(shown.rows) if shown else 0,
    }


@require_safe
@members_only
def board_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The whole page."""
    streamed = class_or_404(viewer, pk)
    return render(request, "scoring/board.html", _context(request, viewer, streamed))


@require_safe
@members_only
def board_rows(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The rows alone, free of tokens; an unchanged board is answered by 304."""
    streamed = class_or_404(viewer, pk)
    view, offset, _ = _asked(request)

    @condition(etag_func=lambda _: _tag(streamed, viewer, view, offset))
    def rows(request: HttpRequest) -> HttpResponse:
        return render(request, "scoring/_board_rows.html", _context(request, viewer, streamed))

    response = rows(request)
    if response.status_code == HTTPStatus.NOT_MODIFIED:
        metrics.board_read("not modified")
    patch_cache_control(response, private=True, no_cache=True)
    return response
