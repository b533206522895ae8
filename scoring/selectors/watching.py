"""Figures for whoever watches the service: what waits, and since when. None tells whose."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Subquery

from members.models import Gym
from scoring.models import (
    CreditChange,
    DataExport,
    Erasure,
    EstimateRun,
    Fact,
    ImportRun,
    Message,
    RecomputeRun,
    State,
    StreamedClass,
)


@dataclass(frozen=True, slots=True)
class Waiting:
    """How many things wait, and since how many seconds the one that waits longest does."""

    number: int = 0
    longest: float = 0.0


@dataclass(frozen=True, slots=True)
class Watched:
    """``work`` is what runs in the background and is not finished, by its kind."""

    open_classes: int
    messages: Waiting
    work: dict[str, Waiting] = field(default_factory=dict)


def watched(*, now: datetime) -> Watched:
    """What waits now. One query of an index, or of a small table, for each kind.

    A message waits from when it was due. Imports and changes of credits count from when they
    last got on, the rest from when it was asked for; an erasure from the end of its grace.
    """
    at_work = (ImportRun.State.READING, ImportRun.State.SAVING, ImportRun.State.UNDOING)
    changing = (CreditChange.State.LOOKING, CreditChange.State.WORKING)
    return Watched(
        open_classes=StreamedClass.objects.filter(state=State.OPEN).count(),
        messages=_waiting(
            Message.objects.filter(state=Message.State.WAITING, not_before__lte=now),
            "not_before",
            now,
        ),
        work={
            "import": _waiting(ImportRun.objects.filter(state__in=at_work), "touched_at", now),
            "credit change": _waiting(
                CreditChange.objects.filter(state__in=changing), "went_on_at", now
            ),
            "recompute": _waiting(RecomputeRun.objects.filter(finished_at=None), "started_at", now),
            "estimate": _waiting(EstimateRun.objects.filter(finished_at=None), "asked_at", now),
            "export": _waiting(
                DataExport.objects.filter(state=DataExport.State.WAITING), "asked_at", now
            ),
            "erasure": _waiting(Erasure.objects.filter(due_at__lte=now), "due_at", now),
        },
    )


def _waiting(rows: QuerySet, since: str, now: datetime) -> Waiting:
    found = rows.order_by().aggregate(number=Count("pk"), first=Min(since))
    first: datetime | None = found["first"]
    return Waiting(found["number"], max(0.0, (now - first).total_seconds()) if first else 0.0)


LOOKED_BACK = timedelta(days=1)
"""Classes that began so long before a gym's last estimate may still have had results after it."""


def estimates_behind(*, now: datetime) -> Waiting:
    """Gyms with results that no estimate has seen yet, and how old the oldest of their last
    estimates is; without any, since their first class that was opened.

    Results of classes that began more than a day before the last estimate are not looked for,
    or all of a gym's would be: corrections of old classes wait for the night unnoticed.
    """
    seen = EstimateRun.objects.filter(
        gym=OuterRef("pk"), state__in=(EstimateRun.State.GOOD, EstimateRun.State.UNCHANGED)
    ).order_by("-pk")
    opened = (
        StreamedClass.objects.filter(gym=OuterRef("pk"), opened_at__isnull=False)
        .order_by("starts_at")
        .values("starts_at")[:1]
    )
    new = Fact.objects.filter(result__streamed_class__gym=OuterRef("pk"))
    newer = new.filter(
        result__streamed_class__starts_at__gt=OuterRef("asked") - LOOKED_BACK,
        created_at__gt=OuterRef("asked"),
    )
    gyms = Gym.objects.order_by().annotate(
        asked=Subquery(seen.values("asked_at")[:1]), made=Subquery(seen.values("finished_at")[:1])
    )
    behind = gyms.filter(
        Q(asked=None) & Exists(new) | Q(asked__isnull=False) & Exists(newer)
    ).annotate(first=Subquery(opened))
    oldest = [made or first for made, first in behind.values_list("made", "first")]
    ages = [(now - one).total_seconds() for one in oldest if one is not None]
    return Waiting(len(oldest), max(0.0, *ages) if ages else 0.0)
