"""The board of a class, and the rows that refresh themselves while it is open."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass
from http import HTTPStatus
from threading import Lock
from typing import Any
from urllib.parse import urlencode

from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_cache_control
from django.utils.html import escape
from django.utils.safestring import SafeString
from django.views.decorators.http import condition, require_safe

from members.models import Membership
from scoring import access, metrics
from scoring.boards import View
from scoring.models import State, StreamedClass
from scoring.selectors.boards import PAGE, Board, board

from .board_items import Around, board_part
from .viewer import class_alone_or_404, members_only

KEPT_FRAMES = 2000

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


@dataclass(frozen=True, slots=True)
class _Seen:
    """A board as somebody asked for it."""

    streamed: StreamedClass
    shown: Board
    moves: bool

    @property
    def is_open(self) -> bool:
        return self.streamed.state == State.OPEN

    @property
    def tag(self) -> str:
        """Weak: the same board is told with another "as of" each time."""
        return f'W/"{self.shown.tag}"'

    def link(self, **changed: Any) -> str:
        shown = self.shown
        asked = {"view": shown.view, "start": shown.offset, "still": 0 if self.moves else 1}
        return "?" + urlencode({k: v for k, v in (asked | changed).items() if v not in (0, "all")})

    def part(self) -> SafeString:
        """The part that renews itself."""
        shown = self.shown
        offset, is_last = shown.offset, shown.offset + PAGE >= shown.total
        around = Around(
            top=reverse("class-board", args=[self.streamed.pk]),
            before=self.link(start=max(0, offset - PAGE)) if offset else "",
            after="" if is_last else self.link(start=offset + PAGE),
            is_all=shown.view == "all",
            is_open=self.is_open,
        )
        return board_part(shown, around)


def _seen(request: HttpRequest, viewer: Membership, pk: int) -> _Seen:
    """Raises ``Http404`` where the viewer may not see the class."""
    streamed = class_alone_or_404(viewer, pk)
    view, offset, moves = _asked(request)
    shown = board(
        streamed_class=streamed,
        viewer=viewer,
        now=timezone.now(),
        view=view,
        offset=offset,
        with_neighbours=False,
    )
    assert shown is not None  # the class is seen, and so is its board
    return _Seen(streamed, shown, moves)


ROWS_HERE = "<!-- rows -->"
TAG_HERE = "tag-of-the-rows"


def _frame(request: HttpRequest, viewer: Membership, seen: _Seen) -> str:
    """The page with a place for its rows and their tag."""
    streamed, shown, is_open = seen.streamed, seen.shown, seen.is_open
    context = {
        "streamed": streamed,
        "rows": SafeString(ROWS_HERE),
        "tag": TAG_HERE,
        "total": shown.total,
        "has_own": shown.own is not None,
        "is_open": is_open,
        "moves": seen.moves and is_open,
        "refresh": REFRESH_SECONDS,
        "may_manage": access.may_manage(viewer, streamed),
        "query": seen.link(),
        "tab_links": [
            {"label": label, "href": seen.link(view=name, start=0), "is_here": name == shown.view}
            for name, (_, label) in VIEWS.items()
        ],
        "still_link": seen.link(still=1),
        "moving_link": seen.link(still=0),
    }
    return render_to_string("scoring/board.html", context, request)


_frames: OrderedDict[Hashable, str] = OrderedDict()
_lock = Lock()


def _kept_frame(request: HttpRequest, viewer: Membership, seen: _Seen) -> str:
    """What stands around the rows is the same each time somebody opens a board, and takes as
    long to make as all the rest; it is kept by all that it says, for each viewer alone. Not
    with a message in it, which is shown once."""
    if len(get_messages(request)):
        return _frame(request, viewer, seen)
    streamed, shown, gym = seen.streamed, seen.shown, viewer.gym
    key = (
        (viewer.pk, viewer.role, viewer.left_at, viewer.timezone),
        (gym.pk, gym.name, gym.timezone, gym.is_demo),
        (streamed.pk, streamed.workout_id, streamed.starts_at, streamed.state),
        (shown.view, shown.offset, seen.moves, shown.own is not None, shown.total > 0),
    )
    with _lock:
        if key in _frames:
            _frames.move_to_end(key)
            return _frames[key]
    made = _frame(request, viewer, seen)
    with _lock:
        _frames[key] = made
        while len(_frames) > KEPT_FRAMES:
            _frames.popitem(last=False)
    return made


@require_safe
@members_only
def board_page(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The whole page."""
    seen = _seen(request, viewer, pk)
    before, _, after = _kept_frame(request, viewer, seen).partition(ROWS_HERE)
    before = before.replace(TAG_HERE, escape(seen.tag))
    return HttpResponse(f"{before}{seen.part()}{after}")


@require_safe
@members_only
def board_rows(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """The rows alone, free of tokens; an unchanged board is answered by 304."""
    seen = _seen(request, viewer, pk)

    @condition(etag_func=lambda _: seen.tag)
    def rows(request: HttpRequest) -> HttpResponse:
        return HttpResponse(seen.part())

    response = rows(request)
    if response.status_code == HTTPStatus.NOT_MODIFIED:
        metrics.board_read("not modified")
    patch_cache_control(response, private=True, no_cache=True)
    return response
