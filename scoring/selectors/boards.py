"""A class's board as a viewer may see it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from hashlib import blake2b
from time import monotonic
from typing import Any

from members.models import Membership, Role
from scoring import access, boards, metrics
from scoring.boards import View
from scoring.models import StreamedClass

from .board_lines import Line, lines_of
from .board_rows import BoardRow, ends, own_row, page_of, placed, position, rows_of
from .moments import Entry, Moment, Moved, Order, moment

PAGE = 50
MAX_PAGE = 200
AROUND = 2
TRIES = 4
"""So often a moment that passes while it is shown is taken anew before the store is asked."""


@dataclass(frozen=True)
class Page:
    """Rows that follow each other, as coaches or members see others, of ``total``.

    ``kept`` is for whoever shows them and would make the same of them again.
    """

    rows: tuple[BoardRow, ...]
    total: int
    kept: dict[str, Any] = field(default_factory=dict, compare=False)

    @cached_property
    def digest(self) -> str:
        """A short text that differs where rows or total do."""
        return _digest((self.rows, self.total))

    @cached_property
    def places(self) -> dict[int, int]:
        """Where a result is among the rows."""
        return {row.result_id: place for place, row in enumerate(self.rows)}


def _digest(told: object) -> str:
    return blake2b(repr(told).encode(), digest_size=9).hexdigest()


@dataclass(frozen=True, slots=True)
class Board:
    """A page of a board. ``own`` is the viewer's row wherever it stands, ``neighbours``
    the rows around it (own row included); all of them are of one moment, ``as_of``. ``tag``
    changes when anything shown but that time does. ``page`` is what everybody of the viewer's
    kind sees of ``rows``, the own one not yet marked."""

    page: Page
    offset: int
    limit: int
    view: View
    own: BoardRow | None
    neighbours: list[BoardRow]
    tag: str
    as_of: datetime

    @property
    def total(self) -> int:
        return self.page.total

    @property
    def rows(self) -> list[BoardRow]:
        return _with_own(self.page.rows, self.own)

    @property
    def own_place(self) -> int | None:
        """Where the viewer's row is among ``rows``."""
        return self.page.places.get(self.own.result_id) if self.own else None


def board_version(streamed_class: StreamedClass, viewer: access.Viewer) -> str:
    """A short text that changes whenever what this viewer sees of the class may change."""
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

    In a filtered view only those listed are ranked and counted among; nobody's score
    changes by it. While the class is open others' results may be missing for a moment, see
    ``moments.py``; the viewer's own is always the newest.
    """
    if viewer is None or not access.may_see_class(viewer, streamed_class):
        return None
    offset, limit = max(0, offset), max(1, min(limit, MAX_PAGE))
    asked = _Asked(streamed_class, viewer, view, offset, limit, with_neighbours)
    asked_at = monotonic()
    for tries in range(TRIES):
        found = moment(streamed_class=streamed_class, viewer=viewer, now=now, anew=tries > 0)
        if found.orders is None:
            break
        as_of = now if found.version >= streamed_class.board_version else found.as_of
        try:
            shown = _of_moment(asked, found, found.orders[view], as_of)
        except Moved:
            continue
        metrics.board_read(
            "fresh" if found.read_at >= asked_at else "kept", age=(now - as_of).total_seconds()
        )
        return shown
    metrics.board_read("fresh", age=0)
    return _of_store(asked, found, now)


@dataclass(frozen=True, slots=True)
class _Asked:
    streamed: StreamedClass
    viewer: Membership
    view: View
    offset: int
    limit: int
    with_neighbours: bool

    def answered(
        self, page: Page, own: BoardRow | None, near: list[BoardRow], as_of: datetime
    ) -> Board:
        who = f"{self.viewer.pk}.{self.viewer.role}.{self.streamed.state}"
        tag = f"{self.streamed.pk}.{who}.{page.digest}.{_digest((own, near))}"
        return Board(page, self.offset, self.limit, self.view, own, near, tag, as_of)


def _with_own(rows: Sequence[BoardRow], own: BoardRow | None) -> list[BoardRow]:
    if own is None:
        return list(rows)
    return [own if row.result_id == own.result_id else row for row in rows]


def _as_own(row: BoardRow, viewer: Membership) -> BoardRow:
    return replace(row, name=viewer.display_name, is_own=True, can_open=True)


# --- from a moment ------------------------------------------------------------


def _of_moment(asked: _Asked, found: Moment, order: Order, as_of: datetime) -> Board:
    reading = _Reading(asked.streamed, found, order, asked.viewer.is_coach)
    page = reading.page(asked.view, asked.offset, asked.limit)
    entry = order.of_member.get(asked.viewer.pk)
    own: BoardRow | None = None
    near: list[BoardRow] = []
    if entry is not None:
        at = page.places.get(entry.result_id)
        row = page.rows[at] if at is not None else reading.row(entry)
        own = _as_own(row, asked.viewer)
        if asked.with_neighbours:
            start = max(0, reading.place(entry) - AROUND)
            near = _with_own(reading.page(asked.view, start, 2 * AROUND + 1).rows, own)
    return asked.answered(page, own, near, as_of)


@dataclass(frozen=True, slots=True)
class _Reading:
    """Rows of a moment as coaches or members see others. All raise ``Moved``."""

    streamed: StreamedClass
    found: Moment
    order: Order
    is_coach: bool

    def page(self, view: View, offset: int, limit: int) -> Page:
        """A page, built once in a moment."""
        key = (self.is_coach, view, offset, limit)
        page: Page = self.found.keep(key, lambda: self._page(offset, limit))
        return page

    def _page(self, offset: int, limit: int) -> Page:
        listed = self._by_name(offset, offset + limit)
        lines = self._lines(listed)
        rows = (self._placed(entry, lines[entry.pk]) for entry in listed)
        return Page(tuple(rows), len(self.order))

    def _by_name(self, start: int, stop: int) -> list[Entry]:
        """Entries as they are shown: inside a tie, part of which may be on another page, by
        name."""
        entries = self.order.entries[start:stop]
        if not entries:
            return []
        low = self.order.level(entries[0].pair)[0]
        high = self.order.level(entries[-1].pair)[1]
        level = self.order.entries[low:high]
        lines = self._lines(level)
        level.sort(key=lambda entry: (-entry.key, entry.tie_key, lines[entry.pk].by_name))
        return level[start - low : start - low + len(entries)]

    def row(self, entry: Entry) -> BoardRow:
        return self._placed(entry, self._lines([entry])[entry.pk])

    def _placed(self, entry: Entry, line: Line) -> BoardRow:
        return placed(line.row, self.order.standing(entry.pair), len(self.order))

    def place(self, entry: Entry) -> int:
        """How many rows are shown before this one."""
        low, high = self.order.level(entry.pair)
        return low + (self._by_name(low, high).index(entry) if high - low > 1 else 0)

    def _lines(self, entries: list[Entry]) -> dict[int, Line]:
        return lines_of(
            streamed_class=self.streamed,
            moment=self.found,
            entries=entries,
            is_coach=self.is_coach,
        )


# --- of a class too large for that --------------------------------------------


def _of_store(asked: _Asked, found: Moment, now: datetime) -> Board:
    """Rows by the database and ranks by the board store; a page is built once a version."""
    streamed, viewer, view = asked.streamed, asked.viewer, asked.view
    own_score = own_row(streamed, view, viewer.pk)
    standings = boards.store().standings(streamed, ends([own_score] if own_score else []), view)
    page = _store_page(asked, found, asked.offset, asked.limit)
    if page.total != standings.total:
        # Rows came or went without a new version, as when data are restored.
        page = _built(asked, asked.offset, asked.limit)
    own: BoardRow | None = None
    near: list[BoardRow] = []
    if own_score is not None:
        [own] = rows_of(streamed, viewer, [own_score], standings, start=0)
        if asked.with_neighbours:
            start = max(0, position(streamed, view, own_score, own.rank) - AROUND)
            near = _with_own(_store_page(asked, found, start, 2 * AROUND + 1).rows, own)
    return asked.answered(page, own, near, now)


def _store_page(asked: _Asked, found: Moment, offset: int, limit: int) -> Page:
    key = ("store", asked.viewer.is_coach, asked.view, offset, limit)
    page: Page = found.keep(key, lambda: _built(asked, offset, limit))
    return page


def _built(asked: _Asked, offset: int, limit: int) -> Page:
    streamed, view = asked.streamed, asked.view
    somebody = Membership(
        gym_id=streamed.gym_id, role=Role.COACH if asked.viewer.is_coach else Role.MEMBER
    )
    page = page_of(streamed, view, offset, limit)
    standings = boards.store().standings(streamed, ends(page), view)
    rows = rows_of(streamed, somebody, page, standings, start=offset)
    return Page(tuple(rows), standings.total)
