"""Past workouts of a gym: found by words, movement, pattern, length and when they ran."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Subquery, Window
from django.db.models.functions import RowNumber

from scoring import access
from scoring.core.iso_week import local_moment
from scoring.core.movements import Pattern
from scoring.core.searching import BAR, folded, sought
from scoring.models import Score, State, StreamedClass, Workout


@dataclass(frozen=True, slots=True)
class Asked:
    """What to look for; what is empty or ``None`` doesn't matter.

    ``shortest`` and ``longest`` are seconds of the clock; ``ran_from`` and ``ran_to`` days
    of the gym, both included.
    """

    words: str = ""
    movement: str = ""
    pattern: Pattern | None = None
    shortest: int | None = None
    longest: int | None = None
    ran_from: date | None = None
    ran_to: date | None = None

    @property
    def is_empty(self) -> bool:
        return self == Asked()


@dataclass(frozen=True, slots=True)
class Went:
    """How a workout went when it ran last; ``typical`` is the middle adjusted mark of the
    board, the better one of two, empty where nobody logged."""

    logged: int
    as_prescribed: int
    typical: str


def search(*, viewer: access.Viewer, asked: Asked, now: datetime) -> QuerySet[Workout]:
    """Workouts the viewer may see that have all that is asked for, the last to run first.

    Each has ``last_ran`` and ``last_class`` (``None`` if it never ran), ``times`` it ran and
    ``seconds`` of its clock. The same workout under another title counts as the same.
    """
    found = access.visible_workouts(viewer).filter(index__isnull=False).select_related("index")
    for word in folded(asked.words).split():
        found = found.filter(index__words__contains=word)
    if asked.movement:
        found = found.filter(index__movements__contains=sought(asked.movement))
    if asked.pattern:
        found = found.filter(index__patterns__contains=f"{BAR}{asked.pattern.value}{BAR}")
    if asked.shortest is not None:
        found = found.filter(index__seconds__gte=asked.shortest)
    if asked.longest is not None:
        found = found.filter(index__seconds__lte=asked.longest)
    ran = _ran(viewer, now)
    if asked.ran_from or asked.ran_to:
        found = found.filter(Exists(_between(ran, viewer, asked)))
    newest = ran.order_by("-starts_at", "-pk")
    return found.annotate(
        last_ran=Subquery(newest.values("starts_at")[:1]),
        last_class=Subquery(newest.values("pk")[:1]),
        times=Subquery(
            ran.order_by().values("gym").annotate(times=Count("pk")).values("times")[:1]
        ),
    ).order_by(F("last_ran").desc(nulls_last=True), "-created_at", "-pk")


def _ran(viewer: access.Viewer, now: datetime) -> QuerySet[StreamedClass]:
    """Classes of the workout of the row outside, or of one with the same fingerprint."""
    return (
        access.visible_classes(viewer)
        .exclude(state=State.DRAFT)
        .filter(
            starts_at__lte=now,
            workout__gym=OuterRef("gym"),
            workout__fingerprint=OuterRef("fingerprint"),
        )
    )


def _between(
    ran: QuerySet[StreamedClass], viewer: access.Viewer, asked: Asked
) -> QuerySet[StreamedClass]:
    assert viewer is not None  # a stranger sees no workouts
    zone = ZoneInfo(viewer.gym.timezone)
    if asked.ran_from:
        ran = ran.filter(starts_at__gte=local_moment(asked.ran_from, time(0), zone))
    if asked.ran_to:
        after = asked.ran_to + timedelta(days=1)
        ran = ran.filter(starts_at__lt=local_moment(after, time(0), zone))
    return ran


def went(*, viewer: access.Viewer, classes: Iterable[int | None]) -> dict[int, Went]:
    """How classes went, by key, in two queries however many there are."""
    seen = access.visible_classes(viewer).filter(pk__in=[pk for pk in classes if pk])
    counted = {
        row["streamed_class"]: row
        for row in Score.objects.filter(streamed_class__in=seen)
        .values("streamed_class")
        .annotate(logged=Count("pk"), whole=Count("pk", filter=Q(as_prescribed=True)))
    }
    board = Score.objects.filter(streamed_class__in=list(counted)).annotate(
        place=Window(
            RowNumber(),
            partition_by=F("streamed_class"),
            order_by=[F("key").desc(), F("tie_key").asc(), F("pk").asc()],
        ),
        of=Window(Count("pk"), partition_by=F("streamed_class")),
    )
    middle = dict(
        board.filter(place=(F("of") + 1) / 2).values_list("streamed_class", "adjusted_text")
    )
    return {
        pk: Went(row["logged"], row["whole"], middle.get(pk, "")) for pk, row in counted.items()
    }
