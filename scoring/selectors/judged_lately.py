"""What the marks of an open class were judged to be a moment ago, kept by a process.

When a class ends everybody logs within minutes and each opens their own result, while every
result changes the class. Comparing the whole class for each of them costs the square of its
size. So while it is open one judgement does for ``JUDGED_SECONDS`` for all marks that it
compared; a newer one is compared by itself, with what the others' judgement says is common to
the class. Coaches' own lists (``questions``) are of the whole class as it is.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock
from time import monotonic

from django.db import connection

from scoring.mapping import course_of
from scoring.models import Score, State, StreamedClass

from .estimates import Held
from .impossible import Judged, is_untimed, judged_by
from .one_mark import judged_alone

JUDGED_SECONDS = 30.0
"""So long a judgement of an open class does: a process compares a class no more often."""

FEW = 20
"""Who asks about more marks waits for another's judgement rather than compare each by itself."""

KEPT_CLASSES = 32


@dataclass(frozen=True, slots=True)
class _Lately:
    """A class's judgement by the snapshot ``of``, when its ``board_version`` was ``version`` or
    a little later; ``at`` in monotonic seconds."""

    of: tuple[int | None, int]
    version: int
    at: float
    judged: Judged

    def is_new(self) -> bool:
        return monotonic() - self.at < JUDGED_SECONDS


_kept: OrderedDict[int, _Lately] = OrderedDict()
_makers: dict[int, Lock] = {}
_lock = Lock()


def forget() -> None:
    """Forget every judgement that this process keeps."""
    with _lock:
        _kept.clear()


def judged_lately(streamed: StreamedClass, scores: Sequence[Score], held: Held | None) -> Judged:
    """Of some scores of a class, with their facts and results, what the estimate finds all but
    impossible: in an open class as it was a moment ago, else as it is.

    ``held`` is the gym's last snapshot and the class was read just now. Inside a transaction
    nothing is kept: what is seen there may be undone.
    """
    if streamed.state != State.OPEN or connection.in_atomic_block:
        return judged_by(streamed, held)
    if held is None or held.is_prior or is_untimed(course_of(streamed)):
        return Judged()
    kept = _of(streamed.pk, held)
    if kept is None or (kept.version < streamed.board_version and not kept.is_new()):
        kept = _anew(streamed, held, waits=len(scores) > FEW) or kept
    found = Judged() if kept is None else kept.judged
    fast: dict[int, str] = {}
    unlike: dict[int, str] = {}
    for score in scores:
        is_told = score.fact_id <= found.last_fact
        own = found if is_told else judged_alone(streamed, score, held, found.common)
        for of, told in ((fast, own.fast), (unlike, own.unlike)):
            if score.fact_id in told:
                of[score.fact_id] = told[score.fact_id]
    return Judged(fast, unlike)


def _of(class_id: int, held: Held) -> _Lately | None:
    """What is kept of a class by this snapshot."""
    with _lock:
        found = _kept.get(class_id)
    return found if found is not None and found.of == (held.pk, held.blanked) else None


def _anew(streamed: StreamedClass, held: Held, *, waits: bool) -> _Lately | None:
    """Judge a class whole; of several who would at once one does, and whoever doesn't wait for
    it gets nothing."""
    with _lock:
        maker = _makers.setdefault(streamed.pk, Lock())
    if not maker.acquire(blocking=waits):
        return None
    try:
        last = _of(streamed.pk, held)
        if last is not None and last.is_new():
            return last
        at, version = monotonic(), streamed.board_version
        made = _Lately((held.pk, held.blanked), version, at, judged_by(streamed, held))
        with _lock:
            _kept[streamed.pk] = made
            _kept.move_to_end(streamed.pk)
            while len(_kept) > KEPT_CLASSES:
                gone, _ = _kept.popitem(last=False)
                _makers.pop(gone, None)
        return made
    finally:
        maker.release()
