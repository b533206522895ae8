"""The order of a class as at one moment, kept by a process and shown to many.

In a rush a board changes every few milliseconds, and a page built anew for each change is
built for each reader. Here the order is read once and shown for ``settings.BOARD_SECONDS`` to
all who may wait for so long: nobody whose own result is newer, nobody in a class that isn't
open, and nobody at all after a coach's change, a withdrawal, a hidden name or an erased person
(``StreamedClass.board_acts`` counts those). Another moment then costs one small query, since
all that can have come in between are newer facts. What is shown hangs together: rows, ranks,
total and the viewer's own row are of the one moment.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from threading import Lock
from time import monotonic
from typing import Any, NamedTuple

from django.conf import settings
from django.db import connection

from scoring import access
from scoring.boards import VIEWS, Pair, Standing, View
from scoring.models import Result, Score, State, StreamedClass

WHOLE = 20_000
"""The largest class whose order is kept; of a larger one the board store is asked."""

MOST_NEW = 500
"""With more new facts than so many the order is read whole again."""

KEPT_CLASSES = 32
KEPT_PAGES = 256
KEPT_SECONDS = 60.0
"""An order is read whole again after so long even if nothing was counted up, as when data
were restored."""


class Moved(Exception):
    """What was to be shown of a moment isn't there any more: it is time for another."""


class Entry(NamedTuple):
    """A score in the order of a class."""

    pk: int
    result_id: int
    member_id: int
    fact_id: int
    key: int
    tie_key: int
    as_prescribed: bool

    @property
    def pair(self) -> Pair:
        return self.key, self.tie_key


class Order:
    """The entries of a view, best first, inside a tie as they came."""

    def __init__(self, entries: list[Entry]) -> None:
        self.entries = entries
        self._pairs = [(-entry.key, entry.tie_key) for entry in entries]
        self.of_member = {entry.member_id: entry for entry in entries}

    def __len__(self) -> int:
        return len(self.entries)

    def level(self, pair: Pair) -> tuple[int, int]:
        """The first entry level with a pair of keys, and the first behind it."""
        sought = (-pair[0], pair[1])
        low = bisect_left(self._pairs, sought)
        return low, bisect_right(self._pairs, sought, lo=low)

    def standing(self, pair: Pair) -> Standing:
        """The rank that a pair of keys has, and how many share it."""
        low, high = self.level(pair)
        return Standing(low + 1, high - low)

    def with_new(self, new: Iterable[Entry], view: View) -> Order:
        """The order after members logged; those that the view doesn't list leave it."""
        other = Order.__new__(Order)
        other.entries, other._pairs = self.entries.copy(), self._pairs.copy()
        other.of_member = self.of_member.copy()
        for entry in new:
            other._take_out(entry.member_id)
            if _is_in(entry, view):
                at = other.level(entry.pair)[1]
                other.entries.insert(at, entry)
                other._pairs.insert(at, (-entry.key, entry.tie_key))
                other.of_member[entry.member_id] = entry
        return other

    def _take_out(self, member_id: int) -> None:
        entry = self.of_member.pop(member_id, None)
        if entry is not None:
            at = self.entries.index(entry, *self.level(entry.pair))
            del self.entries[at], self._pairs[at]


def _is_in(entry: Entry, view: View) -> bool:
    return view == "all" or entry.as_prescribed == (view == "prescribed")


@dataclass(slots=True, eq=False)
class Moment:
    """A class's order when its ``board_version`` was ``version``, or a little later.

    ``acts`` is what ``board_acts`` was, ``last_fact`` the newest fact in it. ``read_at`` and
    ``whole_at`` are when it was read, and last read whole, in monotonic seconds, ``as_of`` the
    first by the clock. ``orders`` is ``None`` for a class too large to be kept.
    """

    version: int
    acts: int
    last_fact: int
    read_at: float
    whole_at: float
    as_of: datetime
    orders: dict[View, Order] | None
    _kept: OrderedDict[Hashable, Any] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)
    _makers: dict[Hashable, Lock] = field(default_factory=dict)

    def keep(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """What ``make`` made the first time, kept as long as the moment is; of several who
        ask at once one makes it and the others wait."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            maker = self._makers.setdefault(key, Lock())
        with maker:
            with self._lock:
                if key in self._kept:
                    return self._kept[key]
            try:
                made = make()
                with self._lock:
                    self._kept[key] = made
                    while len(self._kept) > KEPT_PAGES:
                        self._kept.popitem(last=False)
            finally:
                with self._lock:
                    self._makers.pop(key, None)
            return made


_moments: OrderedDict[int, Moment] = OrderedDict()
_readers: dict[int, Lock] = {}
_lock = Lock()


def forget() -> None:
    """Forget every moment that this process keeps."""
    with _lock:
        _moments.clear()


def moment(
    *, streamed_class: StreamedClass, viewer: access.Viewer, now: datetime, anew: bool = False
) -> Moment:
    """The moment to show to a viewer, who may see the class; the class was read just now.

    Of several who need another one at the same time one reads it and the others wait for it.
    Inside a transaction it is read for the asker alone: what is seen there may be undone.
    ``anew`` is for whoever found that a moment has passed.
    """
    if connection.in_atomic_block:
        return _read(streamed_class, now)
    if anew:
        streamed_class.refresh_from_db(fields=["board_version", "board_logs", "state"])
    will_do = _WillDo(streamed_class, viewer)
    pk = streamed_class.pk
    with _lock:
        before = None if anew else _moments.get(pk)
        reader = _readers.setdefault(pk, Lock())
    if before is not None and will_do(before):
        return before
    with reader:
        with _lock:
            last = _moments.get(pk)
        if last is not None and last is not before and not anew and will_do(last):
            return last
        made = None if anew or last is None else _go_on(last, streamed_class, now)
        made = made or _read(streamed_class, now)
        with _lock:
            _moments[pk] = made
            _moments.move_to_end(pk)
            while len(_moments) > KEPT_CLASSES:
                gone, _ = _moments.popitem(last=False)
                _readers.pop(gone, None)
    return made


class _WillDo:
    """Whether a viewer may be shown what was read before."""

    def __init__(self, streamed_class: StreamedClass, viewer: access.Viewer) -> None:
        self._class, self._viewer = streamed_class, viewer
        self._asked: tuple[int, ...] | None = None

    def __call__(self, kept: Moment) -> bool:
        now = monotonic()
        if now - kept.whole_at >= KEPT_SECONDS or kept.acts < self._class.board_acts:
            return False
        if kept.version >= self._class.board_version:
            return True
        if self._class.state != State.OPEN or now - kept.read_at >= settings.BOARD_SECONDS:
            return False
        if kept.orders is None:
            return False  # its pages are asked of the board store one by one
        return self._own_fact() <= kept.last_fact

    def _own_fact(self) -> int:
        """The fact that the viewer's score is from, whichever process wrote it; 0 without one.
        Facts of a class are numbered in the order in which they were written."""
        if self._viewer is None:
            return 0
        if self._asked is None:
            with connection.cursor() as cursor:
                cursor.execute(_OWN_FACT, [self._class.pk, self._viewer.pk])
                self._asked = cursor.fetchone() or ()
        return self._asked[0] if self._asked else 0


# Written out: Django would take longer to put these together than the database to answer.
_RESULTS = f"{Score._meta.db_table} s JOIN {Result._meta.db_table} r ON r.id = s.result_id"
_OWN_FACT = f"SELECT s.fact_id FROM {_RESULTS} WHERE r.streamed_class_id = %s AND r.member_id = %s"  # noqa: S608
_ENTRIES = (
    "SELECT s.id, s.result_id, r.member_id, s.fact_id, s.key, s.tie_key, s.as_prescribed "  # noqa: S608
    f"FROM {_RESULTS} WHERE s.streamed_class_id = %s "
)
_WHOLE = _ENTRIES + "ORDER BY s.key DESC, s.tie_key LIMIT %s"
_NEW = _ENTRIES + "AND s.fact_id > %s ORDER BY s.fact_id LIMIT %s"


def _entries(statement: str, values: list[int]) -> list[Entry]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        # A database without a type for yes and no answers with numbers.
        return [Entry._make((*row[:-1], bool(row[-1]))) for row in cursor.fetchall()]


def _read(streamed_class: StreamedClass, now: datetime) -> Moment:
    """Read the order whole, in one statement, so that it is of one moment.

    The class's version was read before it: what was written in between is there already, and
    nothing can be missing.
    """
    at = monotonic()
    entries = _entries(_WHOLE, [streamed_class.pk, WHOLE + 1])
    orders: dict[View, Order] | None = None
    if len(entries) <= WHOLE:
        orders = {view: Order([e for e in entries if _is_in(e, view)]) for view in VIEWS}
    return Moment(
        version=streamed_class.board_version,
        acts=streamed_class.board_acts,
        last_fact=max((entry.fact_id for entry in entries), default=0),
        read_at=at,
        whole_at=at,
        as_of=now,
        orders=orders,
    )


def _go_on(last: Moment, streamed_class: StreamedClass, now: datetime) -> Moment | None:
    """The moment after ``last`` if all that happened since is that members logged, else
    ``None``. What they logged are the facts newer than any in it."""
    at = monotonic()
    if at - last.whole_at >= KEPT_SECONDS:
        return None
    if last.orders is None:  # still as large
        version, acts = streamed_class.board_version, streamed_class.board_acts
        return Moment(version, acts, 0, at, last.whole_at, now, None)
    if last.acts != streamed_class.board_acts:
        return None
    new = _entries(_NEW, [streamed_class.pk, last.last_fact, MOST_NEW + 1])
    if len(new) > MOST_NEW or len(last.orders["all"]) + len(new) > WHOLE:
        return None
    return Moment(
        version=max(last.version, streamed_class.board_version),
        acts=last.acts,
        last_fact=new[-1].fact_id if new else last.last_fact,
        read_at=at,
        whole_at=last.whole_at,
        as_of=now,
        orders={view: order.with_new(new, view) for view, order in last.orders.items()},
    )
