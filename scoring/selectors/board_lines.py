"""What boards say of a score wherever it stands, kept by a process.

A line hangs on a score's fact and on the changes of its class that are no logging
(``board_acts``): credits, names, who is hidden. Its place is another matter.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from threading import Lock

from django.db import connection

from members.models import Membership, Role
from members.plain import Plain
from scoring.models import Score, StreamedClass

from .board_rows import SHOWN, BoardRow, line_of
from .moments import Entry, Moment, Moved
from .names import name_key

KEPT = 20_000

_Key = tuple[int, int, int, bool]


@dataclass(frozen=True, slots=True)
class Line:
    """A row without a place, and what orders it inside a tie."""

    row: BoardRow
    by_name: tuple[str, str, int]


_lines: OrderedDict[_Key, Line] = OrderedDict()
_lock = Lock()


def forget() -> None:
    """Forget the lines that this process keeps."""
    with _lock:
        _lines.clear()


_SCORES = Plain(Score, "", joined=("result", "result__member", "fact"), only=SHOWN)


def _read(keys: list[int]) -> list[Score]:
    marks = ", ".join(["%s"] * len(keys))
    return _SCORES.rows(
        keys, more=f"of.id IN ({marks})", by_name=name_key("result__member.display_name")
    )


def lines_of(
    *, streamed_class: StreamedClass, moment: Moment, entries: Iterable[Entry], is_coach: bool
) -> dict[int, Line]:
    """The lines of some entries of a moment by score, as coaches or members of the gym see
    others. Raises ``Moved`` if one of them is not what it was in the moment."""
    wanted = {entry.pk: (entry.pk, entry.fact_id, moment.acts, is_coach) for entry in entries}
    found: dict[int, Line] = {}
    may_keep = not connection.in_atomic_block  # what is seen there may be undone
    if may_keep:
        with _lock:
            for pk, key in wanted.items():
                if key in _lines:
                    _lines.move_to_end(key)
                    found[pk] = _lines[key]
    missing = [pk for pk in wanted if pk not in found]
    if not missing:
        return found
    somebody = Membership(
        gym_id=streamed_class.gym_id, role=Role.COACH if is_coach else Role.MEMBER
    )
    for score in _read(missing):
        if wanted[score.pk][1] == score.fact_id:
            by_name = (score.by_name, score.result.member.display_name, score.pk)  # type: ignore[attr-defined]
            found[score.pk] = Line(line_of(streamed_class, somebody, score), by_name)
    if len(found) < len(wanted):
        raise Moved
    if may_keep:
        with _lock:
            _lines.update((wanted[pk], found[pk]) for pk in missing)
            while len(_lines) > KEPT:
                _lines.popitem(last=False)
    return found
