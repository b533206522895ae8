"""How I am getting on: after a result, and over time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import MemberView, Time
from scoring.selectors import progress
from scoring.selectors.after import after
from scoring.selectors.results import result_for


class BeforeShape(serializers.Serializer[Any]):
    """The time before in the same workout, and what changed since."""

    result = serializers.IntegerField()
    starts_at = Time()
    mark = serializers.CharField()
    pace_per_minute = serializers.CharField()
    reps = serializers.IntegerField(help_text="Reps more than then.")
    percent = serializers.CharField(allow_null=True, help_text="Of the credited pace then.")
    options_then = serializers.CharField(allow_blank=True)
    options_now = serializers.CharField(allow_blank=True)


class AfterShape(serializers.Serializer[Any]):
    """A result beside the earlier times; ``beaten`` is the best of them."""

    times = serializers.IntegerField()
    is_best = serializers.BooleanField()
    beaten = serializers.IntegerField(allow_null=True)
    before = BeforeShape(allow_null=True)


class AfterView(MemberView):
    """A result beside the time before."""

    @extend_schema(operation_id="result_after", responses=AfterShape)
    def get(self, request: Request, pk: int) -> Response:
        """What I did last time in the same workout, and what changed. For its owner and
        coaches; 404 while the result is withdrawn."""
        found = result_for(viewer=self.viewer, pk=pk)
        score = getattr(found, "score", None)
        told = after(score=score, viewer=self.viewer) if score else None
        if told is None:
            raise Http404
        before = told.before
        return Response(
            AfterShape(
                {
                    "times": told.times,
                    "is_best": told.is_best,
                    "beaten": told.beaten.result_id if told.beaten else None,
                    "before": before
                    and {
                        "result": before.score.result_id,
                        "starts_at": before.score.streamed_class.starts_at,
                        "mark": before.fact.mark,
                        "pace_per_minute": before.pace,
                        "reps": before.reps,
                        "percent": before.percent,
                        "options_then": before.options_then,
                        "options_now": before.options_now,
                    },
                }
            ).data
        )


class BestShape(serializers.Serializer[Any]):
    result = serializers.IntegerField()
    title = serializers.CharField()
    starts_at = Time()
    adjusted = serializers.CharField()
    times = serializers.IntegerField()
    is_lift = serializers.BooleanField()


class UnbrokenShape(serializers.Serializer[Any]):
    """The longest noted set without a break of a way of doing a movement."""

    movement = serializers.CharField()
    reps = serializers.IntegerField()
    result = serializers.IntegerField()


class WeekShape(serializers.Serializer[Any]):
    """Session load of a week; null where nothing varied."""

    monday = serializers.DateField()
    load = serializers.IntegerField()
    monotony = serializers.FloatField(allow_null=True)
    strain = serializers.FloatField(allow_null=True)


class VolumeShape(serializers.Serializer[Any]):
    monday = serializers.DateField()
    movements = serializers.DictField(child=serializers.IntegerField())
    patterns = serializers.DictField(child=serializers.IntegerField())


class BalanceShape(serializers.Serializer[Any]):
    movement = serializers.CharField()
    starting_side = serializers.IntegerField()
    other_side = serializers.IntegerField()


class StepShape(serializers.Serializer[Any]):
    movement = serializers.CharField()
    result = serializers.IntegerField()
    starts_at = Time()
    done_as = serializers.CharField()
    prescribed = serializers.BooleanField()


class AttendedShape(serializers.Serializer[Any]):
    monday = serializers.DateField()
    held = serializers.IntegerField()
    logged = serializers.IntegerField()


class ProgressShape(serializers.Serializer[Any]):
    """Everything of one's progress but the level (``me/level/``), the oldest first."""

    bests = BestShape(many=True)
    unbroken = UnbrokenShape(many=True)
    weeks = WeekShape(many=True)
    volumes = VolumeShape(many=True)
    sides = BalanceShape(many=True)
    steps = StepShape(many=True)
    attendance = AttendedShape(many=True)


def told_bests(bests: Iterable[progress.Best]) -> list[dict[str, Any]]:
    """Bests as ``BestShape`` takes them."""
    return [
        {
            "result": best.score.result_id,
            "title": best.score.streamed_class.workout.title,
            "starts_at": best.score.streamed_class.starts_at,
            "adjusted": best.score.adjusted_text,
            "times": best.times,
            "is_lift": best.is_lift,
        }
        for best in bests
    ]


def told_steps(steps: Mapping[str, Iterable[progress.Step]]) -> list[dict[str, Any]]:
    """Steps, the options of each movement over time, as ``StepShape`` takes them."""
    return [
        {
            "movement": movement,
            "result": step.score.result_id,
            "starts_at": step.score.streamed_class.starts_at,
            "done_as": step.done_as,
            "prescribed": step.prescribed,
        }
        for movement, taken in steps.items()
        for step in taken
    ]


class Progress(MemberView):
    """One's own progress."""

    @extend_schema(operation_id="me_progress", responses=ProgressShape)
    def get(self, request: Request) -> Response:
        """Bests, session load, reps, sides, options, attendance."""
        scores = progress.own_scores(member=self.viewer, viewer=self.viewer)
        told = {
            "bests": told_bests(progress.bests(progress.unquestioned(scores))),
            "unbroken": [
                {"movement": best.movement, "reps": best.reps, "result": best.score.result_id}
                for best in progress.unbroken_bests(scores)
            ],
            "weeks": [
                {
                    "monday": week.monday,
                    "load": round(week.load),
                    "monotony": week.monotony,
                    "strain": week.strain,
                }
                for week in progress.load_weeks(scores)
            ],
            "volumes": progress.volumes(scores),
            "sides": [
                {"movement": b.movement, "starting_side": b.starting, "other_side": b.other}
                for b in progress.balances(scores)
            ],
            "steps": told_steps(progress.steps(scores)),
            "attendance": [
                {
                    "monday": week.monday,
                    "held": len(week.classes),
                    "logged": sum(there for _, there in week.classes),
                }
                for week in progress.attendance(
                    member=self.viewer, viewer=self.viewer, now=timezone.now()
                )[::-1]
            ],
        }
        return Response(ProgressShape(told).data)
