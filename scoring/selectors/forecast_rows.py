"""What would be kept of a class's forecast, as rows that are not saved yet."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from members.models import Gym, Membership
from scoring.core.course import Course
from scoring.core.crowd import at_share
from scoring.core.estimation.beyond import Finish
from scoring.core.reference import Reference
from scoring.core.reference import expected as usual_pace
from scoring.mapping import prescription
from scoring.models import ForecastLine, ForecastRecord, Score, State, StreamedClass
from scoring.models.forecasts import ENSEMBLE

from .estimates import Held, held
from .forecasts import Expected, expected
from .groups import MOST, group_for
from .review_before import member_ratios

Rows = tuple[ForecastRecord, list[ForecastLine]]

_HALF = Fraction(1, 2)


def forecast_rows(*, class_id: int) -> Rows | None:
    """What the last estimate expects of a class, once for each estimate.

    As long as nobody has logged, a newer estimate's forecast takes the older one's place;
    afterwards the first one stays. ``None`` where there is nothing to keep: a draft, a
    workout without places, nobody there, a forecast by this estimate already, or an estimate
    that knows what happened.
    """
    streamed = (
        StreamedClass.objects.select_related("workout", "gym")
        .filter(pk=class_id)
        .exclude(state=State.DRAFT)
        .first()
    )
    if streamed is None:
        return None
    last = ForecastRecord.objects.filter(streamed_class=streamed).order_by("-pk").first()
    if last is not None and streamed.results.exists():
        return None
    known = held(gym_id=streamed.gym_id)
    if last is not None and (last.is_prior, last.snapshot_id) == (known.is_prior, known.pk):
        return None
    return None if knows_too_much(known, streamed) else _rows(streamed, known)


def knows_too_much(known: Held, streamed: StreamedClass) -> bool:
    """Whether an estimate has learned from this class, or from one after it: what it says
    would be no forecast."""
    if known.class_at(streamed.pk) is not None:
        return True
    return known.until is not None and known.until >= streamed.starts_at


def _rows(streamed: StreamedClass, known: Held) -> Rows | None:
    workout = prescription(streamed.workout.text)
    group = group_for(gym=streamed.gym, starts_at=streamed.starts_at)

    def ask(members: Sequence[int]) -> Expected | None:
        return expected(
            gym=streamed.gym,
            workout=workout,
            starts_at=streamed.starts_at,
            members=members,
            snapshot=known,
        )

    usual, each = ask(group.members), ask(_everybody(streamed.gym, group.members))
    if usual is None or each is None or not each.members:
        return None
    fade = usual.field.fade
    end = finish_of(usual.course, usual.told.cap, fade)
    naive, count = _naive(streamed, end, usual.course, group.members)
    record = ForecastRecord(
        streamed_class=streamed,
        snapshot_id=known.pk,
        is_prior=known.is_prior,
        results=known.results,
        members=known.members,
        until=known.until,
        cap=usual.told.cap,
        count=len(usual.members),
        gates=[
            [gate.block, round(gate.share, 4), round(gate.low, 4), round(gate.high, 4)]
            for gate in usual.told.gates
        ],
        halfway=usual.told.middle.tolist(),
        fade=fade,
        naive=naive,
        naive_results=count,
    )
    return record, _lines(record, each, known, set(group.members))


def _everybody(gym: Gym, first: Sequence[int]) -> list[int]:
    """The group that usually comes, and then the others who belong to the gym, up to a bound."""
    others = (
        Membership.objects.filter(gym=gym, left_at__isnull=True)
        .exclude(pk__in=first)
        .order_by("pk")
        .values_list("pk", flat=True)
    )
    return [*first, *others[: max(0, MOST - len(first))]]


def finish_of(course: Course, cap: int, fade: float) -> Finish:
    """The end of a course, for places beyond it."""
    rests = float(sum(block.rest for block in course.blocks))
    return Finish(course.total, rests, cap, fade)


def _naive(
    streamed: StreamedClass, end: Finish, course: Course, group: Sequence[int]
) -> tuple[int, int]:
    """The place that anybody would be given without an estimate, and how many results of
    earlier runs it is the middle of.

    Of a new workout it is where the group gets at its usual pace by the catalogue's figures;
    at the reference pace only where nobody has done anything yet. Less would be no opponent.
    """
    before = Score.objects.filter(
        streamed_class__gym=streamed.gym_id,
        streamed_class__workout__fingerprint=streamed.workout.fingerprint,
        streamed_class__starts_at__lt=streamed.starts_at,
    ).exclude(streamed_class=streamed)
    places = sorted(
        end.reached(raw, float(Fraction(seconds)))
        for raw, seconds in before.values_list("raw_reps", "seconds")
    )
    if places:
        return at_share(places, _HALF), len(places)
    reference = Reference(course)
    limit, ratios = Fraction(course.limit or 0), member_ratios(streamed)
    own = [ratios[member] for member in group if member in ratios] or list(ratios.values())
    usual = usual_pace(reference, own or [Fraction(1)], limit)
    assert usual is not None  # there is a pace
    raw = course.raw(usual.place)
    return end.reached(raw, float(limit if usual.seconds is None else usual.seconds)), 0


def _lines(
    record: ForecastRecord, each: Expected, known: Held, usual: set[int]
) -> list[ForecastLine]:
    places = np.sort(each.field.beyond(record.cap), axis=1)
    draws = places.shape[1]
    kept = ((np.arange(ENSEMBLE) + 0.5) / ENSEMBLE * draws).astype(int)
    ranks = [max(0, int(np.ceil(share * draws)) - 1) for share in (0.1, 0.25, 0.5, 0.75, 0.9)]
    lines = []
    for row, member in enumerate(each.members):
        low, quarter, middle, three_quarters, high = places[row, ranks].tolist()
        lines.append(
            ForecastLine(
                record=record,
                member_id=member,
                ensemble=places[row, kept].tolist(),
                low=low,
                quarter=quarter,
                middle=middle,
                three_quarters=three_quarters,
                high=high,
                past=[round(float(share), 4) for share in each.told.past[row]],
                is_usual=member in usual,
                is_known=known.member_at(member) is not None,
            )
        )
    return lines


def classes_to_forecast(*, gym_id: int) -> list[int]:
    """Open classes in which nobody has logged: a newer estimate may forecast them anew."""
    waiting = StreamedClass.objects.filter(gym=gym_id, state=State.OPEN, results__isnull=True)
    return list(waiting.order_by("pk").values_list("pk", flat=True))
