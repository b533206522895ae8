"""What a coach has in hand now: the class to come, the one that runs, the one just done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q

from scoring import access
from scoring.models import State, StreamedClass

from .classes import classes_for, usual_members
from .questions import questions

AHEAD = timedelta(days=7)
BEHIND = timedelta(days=7)
LATE = timedelta(hours=3)
SHOWN = 2


@dataclass(frozen=True, slots=True)
class Running:
    """An open class: how many logged, how many who usually come have not, and how many
    results are asked about."""

    streamed: StreamedClass
    logged: int
    missing: int
    questions: int


@dataclass(frozen=True, slots=True)
class Done:
    """A class just closed, and how many of its results are asked about."""

    streamed: StreamedClass
    questions: int


@dataclass(frozen=True, slots=True)
class Desk:
    """Classes by what a coach does with them next; the nearest first."""

    coming: list[StreamedClass]
    running: list[Running]
    done: list[Done]


def desk(*, viewer: access.Viewer, now: datetime) -> Desk | None:
    """For coaches; ``None`` for others."""
    if not access.may_manage_gym(viewer):
        return None
    found = classes_for(viewer=viewer)
    late = Q(state=State.DRAFT, starts_at__gt=now - LATE)  # begun, and not opened yet
    coming = found.exclude(state=State.CLOSED).filter(
        Q(starts_at__gt=now) | late, starts_at__lte=now + AHEAD
    )
    running = found.filter(starts_at__lte=now, state=State.OPEN).order_by("-starts_at", "-pk")
    done = found.filter(state=State.CLOSED, starts_at__gte=now - BEHIND, starts_at__lte=now)
    return Desk(
        coming=list(coming.order_by("starts_at", "pk")[:SHOWN]),
        running=[_running(streamed, viewer) for streamed in running[:SHOWN]],
        done=[
            Done(streamed, len(questions(streamed_class=streamed, viewer=viewer)))
            for streamed in done.order_by("-starts_at", "-pk")[:SHOWN]
        ],
    )


def _running(streamed: StreamedClass, viewer: access.Viewer) -> Running:
    there = set(streamed.results.filter(score__isnull=False).values_list("member", flat=True))
    asked = len(questions(streamed_class=streamed, viewer=viewer))
    return Running(streamed, len(there), len(usual_members(streamed) - there), asked)
