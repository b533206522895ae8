"""A class's board as a viewer may see it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from time import monotonic

from django.db import connection

from members.models import Membership, Role
from scoring import access, boards, metrics
from scoring.boards import View
from scoring.models import StreamedClass

from .board_rows import BoardRow, ends, own_row, page_of, position, rows_of

PAGE = 50
MAX_PAGE = 200
AROUND = 2


@dataclass(frozen=True, slots=True)
class Board:
    """A page of a board. ``own`` is the viewer's row wherever it stands, ``neighbours``
    the rows around it (own row included); ``version`` changes when anything shown may."""

    rows: list[BoardRow]
    total: int
    offset: int
    limit: int
    view: View
    own: BoardRow | None
    neighbours: list[BoardRow]
    version: str
    as_of: datetime


def board_version(streamed_class: StreamedClass, viewer: access.Viewer) -> str:
    """A short text that changes whenever what this viewer sees of the board may change."""
    who = viewer.pk if viewer else 0
    role = viewer.role if viewer else ""
    return f"{streamed_class.pk}.{streamed_class.board_version}.{streamed_class.state}.{who}.{role}"


def board(
    *,
    streamed_class: StreamedClass,
    viewer: access.Viewer,
    now: datetime,
    view: View = "all",
    offset: int = 0,
    limit: int = PAGE,
    with_neighbours: bool = True,
) -> Board | None:
    """A page of a class's board, ``None`` if the viewer may not see the class.

    ``with_neighbours`` costs some queries more.

    In a filtered view only those listed are ranked and counted among; nobody's score
    changes by it.
    """
    if not access.may_see_class(viewer, streamed_class):
        return None
    offset, limit = max(0, offset), max(1, min(limit, MAX_PAGE))
    asked_at = monotonic()
    own_score = own_row(streamed_class, view, viewer.pk) if viewer else None
    asked = ends([own_score] if own_score else [])
    standings = boards.store().standings(streamed_class, asked, view)
    rows, total, built_at = _page(streamed_class, viewer, view, offset, limit)
    if total != standings.total:
        # Rows came or went without a new version, as when data are restored.
        _kept_page.cache_clear()
        rows, total, built_at = _page(streamed_class, viewer, view, offset, limit)
    own: BoardRow | None = None
    neighbours: list[BoardRow] = []
    if own_score is not None:
        [own] = rows_of(streamed_class, viewer, [own_score], standings, start=0)
        rows = _with_own(rows, own)
        if with_neighbours:
            start = max(0, position(streamed_class, view, own_score, own.rank) - AROUND)
            near, _, _ = _page(streamed_class, viewer, view, start, 2 * AROUND + 1)
            neighbours = _with_own(near, own)
    # What was kept is of the version that the class has, so it is of when it was asked for.
    outcome = "fresh" if built_at >= asked_at else "kept"
    metrics.board_read(outcome, age=monotonic() - asked_at)
    return Board(
        rows=rows,
        total=total,
        offset=offset,
        limit=limit,
        view=view,
        own=own,
        neighbours=neighbours,
        version=board_version(streamed_class, viewer),
        as_of=now,
    )


def _with_own(rows: list[BoardRow], own: BoardRow) -> list[BoardRow]:
    return [own if row.result_id == own.result_id else row for row in rows]


def _page(
    streamed_class: StreamedClass, viewer: access.Viewer, view: View, offset: int, limit: int
) -> tuple[list[BoardRow], int, float]:
    """A page's rows, the view's total, and when it was built (``monotonic``), as everybody of
    the viewer's kind sees it.

    Members all see the same but for their own row, and coaches too, so a page is built once
    for each version of the board. Not inside a transaction: what is seen there may be undone.
    """
    audience = (
        streamed_class.pk,
        streamed_class.board_version,
        streamed_class.gym_id,
        bool(viewer and viewer.is_coach),
        view,
        offset,
        limit,
    )
    build = _kept_page.__wrapped__ if connection.in_atomic_block else _kept_page
    return build(*audience)


@lru_cache(maxsize=256)
def _kept_page(
    class_id: int,
    version: int,
    gym_id: int,
    is_coach: bool,
    view: View,
    offset: int,
    limit: int,
) -> tuple[list[BoardRow], int, float]:
    streamed_class = StreamedClass.objects.select_related("workout").get(pk=class_id)
    somebody = Membership(gym_id=gym_id, role=Role.COACH if is_coach else Role.MEMBER)
    page = page_of(streamed_class, view, offset, limit)
    standings = boards.store().standings(streamed_class, ends(page), view)
    rows = rows_of(streamed_class, somebody, page, standings, start=offset)
    return rows, standings.total, monotonic()
