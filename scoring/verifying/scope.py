"""What is looked at: everything, or what hangs on some classes."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from scoring.models import StreamedClass


@dataclass(frozen=True, slots=True)
class Scope:
    """``class_ids`` is ``None`` for everything; ``now`` tells what has been idle for long."""

    class_ids: Collection[int] | None
    now: datetime

    @property
    def is_whole(self) -> bool:
        return self.class_ids is None

    def within(self, path: str) -> Q:
        """The rows whose class, reached by ``path``, is looked at."""
        return Q() if self.class_ids is None else Q(**{f"{path}__in": self.class_ids})

    def classes(self) -> Iterator[StreamedClass]:
        """The classes with what scoring them needs, one by one."""
        rows = StreamedClass.objects.filter(self.within("pk")).select_related("workout")
        yield from rows.order_by("pk").iterator(chunk_size=100)
