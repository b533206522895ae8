"""What was worked out of a whole open class a moment ago, kept by a process.

When a class ends everybody logs within minutes and each opens their own result, while every
result changes the class. Whatever reads all of it for each of them costs the square of its
size. So while it is open one working out does for ``LATELY_SECONDS``.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from threading import Lock
from time import monotonic
from typing import Generic, TypeVar

from scoring.models import StreamedClass

T = TypeVar("T")

LATELY_SECONDS = 30.0
"""A process works a thing of an open class out no more often."""

KEPT_CLASSES = 32


@dataclass(frozen=True, slots=True)
class _Made(Generic[T]):
    """Worked out by what is called ``of``, when ``board_version`` was ``version`` or a little
    later; ``at`` in monotonic seconds."""

    of: Hashable
    version: int
    at: float
    what: T

    def is_new(self) -> bool:
        return monotonic() - self.at < LATELY_SECONDS


class Lately(Generic[T]):
    """One kind of thing, by class."""

    def __init__(self) -> None:
        self._kept: OrderedDict[int, _Made[T]] = OrderedDict()
        self._makers: dict[int, Lock] = {}
        self._lock = Lock()

    def forget(self) -> None:
        """Forget everything that is kept."""
        with self._lock:
            self._kept.clear()

    def __len__(self) -> int:
        return len(self._kept)

    def of_class(
        self, streamed: StreamedClass, of: Hashable, make: Callable[[], T], *, waits: bool
    ) -> T | None:
        """What is kept of a class, read just now, or made anew if that is of another ``of`` or
        too old. Of several who would make it at once one does; the others take the old one, and
        where there is none nothing, unless they ``wait``."""
        kept = self._of(streamed.pk, of)
        if kept is None or (kept.version < streamed.board_version and not kept.is_new()):
            kept = self._anew(streamed, of, make, waits=waits) or kept
        return None if kept is None else kept.what

    def _of(self, class_id: int, of: Hashable) -> _Made[T] | None:
        with self._lock:
            found = self._kept.get(class_id)
        return found if found is not None and found.of == of else None

    def _anew(
        self, streamed: StreamedClass, of: Hashable, make: Callable[[], T], *, waits: bool
    ) -> _Made[T] | None:
        with self._lock:
            maker = self._makers.setdefault(streamed.pk, Lock())
        if not maker.acquire(blocking=waits):
            return None
        try:
            last = self._of(streamed.pk, of)
            if last is not None and last.is_new():
                return last
            at, version = monotonic(), streamed.board_version
            made = _Made(of, version, at, make())
            with self._lock:
                self._kept[streamed.pk] = made
                self._kept.move_to_end(streamed.pk)
                while len(self._kept) > KEPT_CLASSES:
                    gone, _ = self._kept.popitem(last=False)
                    self._makers.pop(gone, None)
            return made
        finally:
            maker.release()
