"""A workout each time it was given, and what changed for those who did it twice running."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from math import log

from members.models import Membership
from scoring import access
from scoring.core.comparing import Estimate, paired
from scoring.core.grouping import Middle, Share, middle_of, share_of
from scoring.models import Score, State, StreamedClass, Workout

from .finishing import Finishers, finishers


@dataclass(frozen=True, slots=True)
class Run:
    """``marks`` are the adjusted marks in the middle of the board: one, or two where the
    middle lies between them. ``change`` is of the logarithm of the pace (or load) since the
    run before, over those who did both; ``None`` at the first run, where nobody did both, or
    where reps weigh otherwise (``is_alike`` is false)."""

    streamed: StreamedClass
    results: int
    prescribed: Share | None
    marks: tuple[str, ...]
    effort: Middle | None
    change: Estimate | None
    is_first: bool
    is_alike: bool


@dataclass(frozen=True, slots=True)
class Runs:
    """All runs of a workout, whatever its title then, the oldest first; ``finishers`` are over
    those with another cap too."""

    workout: Workout
    runs: list[Run]
    finishers: Finishers | None


_Row = tuple[int, int, str, bool, int | None, int, int, str]


def runs_of(*, viewer: Membership, pk: int, now: datetime) -> Runs | None:
    """For coaches of the workout's gym; ``None`` for others or where there is none."""
    if not access.may_manage_gym(viewer):
        return None
    workout: Workout | None = access.visible_workouts(viewer).filter(pk=pk).first()
    if workout is None:
        return None
    classes = (
        StreamedClass.objects.filter(
            gym=viewer.gym_id, workout__fingerprint=workout.fingerprint, starts_at__lte=now
        )
        .exclude(state=State.DRAFT)
        .select_related("workout", "coach")
        .order_by("starts_at", "pk")
    )
    rows: dict[int, list[_Row]] = {streamed.pk: [] for streamed in classes}
    for row in Score.objects.filter(streamed_class__in=list(rows)).values_list(
        "streamed_class", "result__member", "performance", "as_prescribed", "fact__effort",
        "key", "tie_key", "adjusted_text",
    ):  # fmt: skip
        rows[row[0]].append(row)
    found: list[Run] = []
    for streamed in classes:
        before = found[-1].streamed if found else None
        found.append(
            _run(streamed, rows[streamed.pk], before, rows.get(before.pk, []) if before else [])
        )
    return Runs(workout, found, finishers(workout=workout, now=now))


def _run(
    streamed: StreamedClass,
    rows: Sequence[_Row],
    before: StreamedClass | None,
    earlier: Sequence[_Row],
) -> Run:
    is_alike = before is None or before.weighted == streamed.weighted
    then, now = _paces(earlier), _paces(rows)
    both = sorted(now.keys() & then.keys())
    order = sorted(rows, key=lambda row: (-row[5], row[6]))
    middle = order[(len(order) - 1) // 2 : len(order) // 2 + 1]
    return Run(
        streamed=streamed,
        results=len(rows),
        prescribed=share_of({row[1]: (int(row[3]), 1) for row in rows}),
        marks=tuple(dict.fromkeys(row[7] for row in middle)),
        effort=middle_of([row[4] for row in rows if row[4] is not None]),
        change=paired([then[m] for m in both], [now[m] for m in both])
        if both and is_alike
        else None,
        is_first=before is None,
        is_alike=is_alike,
    )


def _paces(rows: Sequence[_Row]) -> dict[int, float]:
    """The logarithm of each member's pace; nothing done has none."""
    return {row[1]: log(Fraction(row[2])) for row in rows if row[2] != "0"}
