"""Work that nobody is at any more, though somebody waits for it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from scoring.models import (
    CreditChange,
    DataExport,
    Erasure,
    EstimateRun,
    ImportRun,
    Message,
    RecomputeRun,
)
from scoring.selectors.messages import unknown_messages

from .finding import Finding, Looked
from .scope import Scope

IDLE = timedelta(hours=1)
"""The clock or the beat takes up what stopped within minutes; after this nobody does."""

WAITED = timedelta(days=1)
"""Messages wait for the end of quiet hours, erasures for another owner: longer than ``IDLE``."""


def unfinished(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """Each kind of long work with what goes on with it. What is not a class's is looked at
    only with everything."""
    for kind, rows, remedy in _stopped(scope, scope.now):
        looked.counts["kinds of work"] += 1
        for pk in rows.order_by("pk").values_list("pk", flat=True).iterator():
            yield Finding(
                f"{kind.replace(' ', '-')}-stopped", f"{kind} {pk}",
                "it is not finished, and nobody has gone on with it for long", remedy,
            )  # fmt: skip


def _stopped(scope: Scope, now: datetime) -> Iterator[tuple[str, QuerySet, str]]:
    idle = now - IDLE
    runs = RecomputeRun.objects.filter(
        scope.within("streamed_class"), finished_at__isnull=True, started_at__lte=idle
    )
    yield "recompute", runs, "manage.py rescore --class N"
    imports = ImportRun.objects.filter(
        scope.within("streamed_class"), state__in=("reading", "saving", "undoing"),
        touched_at__lte=idle,
    )  # fmt: skip
    yield "import", imports, "manage.py imports, and see that beat or the clock runs"
    if not scope.is_whole:
        return
    changes = CreditChange.objects.filter(state__in=("looking", "working"), went_on_at__lte=idle)
    yield "change of credits", changes, "manage.py credit_changes"
    free = Q(held_until=None, asked_at__lte=idle) | Q(held_until__lte=idle)
    yield "estimate", EstimateRun.objects.filter(free, finished_at=None), "manage.py estimate"
    due = "manage.py due, and see that beat or the clock runs"
    yield "message", unknown_messages(now=now), due
    waiting = Message.objects.filter(state=Message.State.WAITING, not_before__lte=now - WAITED)
    yield "waiting message", waiting, due
    copies = DataExport.objects.filter(state=DataExport.State.WAITING, asked_at__lte=idle)
    yield "copy of data", copies, "its member asks once more, and it is made"
    late = Erasure.objects.filter(due_at__lte=now - WAITED)
    yield "erasure", late, "manage.py erase_due says what hinders it"
