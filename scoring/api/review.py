"""The review of a class, as JSON: every claim and the figures it rests on."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import CoachView, Time
from scoring.core.figures import figure
from scoring.core.told_class import Anchor, Kind
from scoring.selectors.review import Review, review
from scoring.selectors.review_before import LastTime
from scoring.selectors.review_plan import Plan

from .classes import managed_or_404


class ClaimShape(serializers.Serializer[Any]):
    """A sentence, and the part of the review that it rests on."""

    text = serializers.CharField()
    about = serializers.ChoiceField(choices=[anchor.value for anchor in Anchor])


class PlaceShape(serializers.Serializer[Any]):
    """Where one member ended. ``place`` is in words, ``mark`` as the log writes it."""

    result = serializers.IntegerField()
    name = serializers.CharField()
    mark = serializers.CharField()
    place = serializers.CharField()
    raw_reps = serializers.IntegerField()
    as_prescribed = serializers.BooleanField()
    options = serializers.CharField(allow_blank=True)
    effort = serializers.IntegerField(allow_null=True)


class QuartersShape(serializers.Serializer[Any]):
    """Places that a quarter, half and three quarters of the class got no further than."""

    quarter = serializers.CharField()
    half = serializers.CharField()
    three_quarters = serializers.CharField()


class StoppedShape(serializers.Serializer[Any]):
    """Who stopped in a set; ``by_here`` are all who got no further, as a share of one."""

    where = serializers.CharField()
    movement = serializers.CharField(allow_blank=True, help_text="Empty for the finish.")
    count = serializers.IntegerField()
    as_prescribed = serializers.IntegerField()
    share = serializers.FloatField()
    by_here = serializers.FloatField()


class BlockShape(serializers.Serializer[Any]):
    """Seconds at the end of a block: the plan's, and of those who noted it."""

    block = serializers.IntegerField()
    plan = serializers.FloatField()
    quarter = serializers.FloatField(allow_null=True)
    half = serializers.FloatField(allow_null=True)
    three_quarters = serializers.FloatField(allow_null=True)
    noted = serializers.IntegerField()
    passed = serializers.IntegerField()


class WayShape(serializers.Serializer[Any]):
    """One way of doing a movement; ``share`` is of those who got to it."""

    done_as = serializers.CharField()
    as_prescribed = serializers.BooleanField()
    credit = serializers.CharField()
    count = serializers.IntegerField()
    share = serializers.FloatField()
    half_got_to = serializers.CharField()


class UsedShape(serializers.Serializer[Any]):
    line = serializers.CharField()
    movement = serializers.CharField()
    got_there = serializers.IntegerField()
    ways = WayShape(many=True)


class ReviewEffortShape(serializers.Serializer[Any]):
    """How many told each figure from 0 to 10; half of them that much or less."""

    counts = serializers.ListField(child=serializers.IntegerField(), min_length=11, max_length=11)
    told = serializers.IntegerField()
    half = serializers.IntegerField(allow_null=True)


class ChangeShape(serializers.Serializer[Any]):
    """The mean change of the same members' pace in percent, with a 95 % interval; without
    one from fewer than five, which could be chance."""

    count = serializers.IntegerField()
    percent = serializers.FloatField()
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)


class ThenShape(serializers.Serializer[Any]):
    result = serializers.IntegerField()
    name = serializers.CharField()
    mark_then = serializers.CharField()
    mark_now = serializers.CharField()
    options_then = serializers.CharField(allow_blank=True)
    options_now = serializers.CharField(allow_blank=True)
    percent = serializers.FloatField(allow_null=True)


class LastShape(serializers.Serializer[Any]):
    """The last class with the same workout. The paces at half are of whoever came each time,
    so they are no change of anybody."""

    streamed_class = serializers.IntegerField()
    starts_at = Time()
    change = ChangeShape(allow_null=True)
    has_other_credits = serializers.BooleanField()
    logged_then = serializers.IntegerField()
    half_then = serializers.CharField(help_text="Credited reps a minute, or kilograms.")
    half_now = serializers.CharField()
    members = ThenShape(many=True)


class ForecastShape(serializers.Serializer[Any]):
    """What the usual pace of ``count`` members foretold, and what the same ones did."""

    count = serializers.IntegerField()
    finishing = serializers.IntegerField()
    finished = serializers.IntegerField()
    halfway = serializers.CharField()
    reached = serializers.CharField()


class PlanBesideShape(serializers.Serializer[Any]):
    """``course_seconds`` at the plan's pace, null for an AMRAP; ``place`` is where that pace
    stands at the cap, ``share`` the part of it at which the member at half worked. The pace is
    the typical member's where results had taught it when the class opened (``is_learned``),
    else the reference. ``forecast`` is null where one was kept: that is the class's forecast."""

    is_learned = serializers.BooleanField()

    cap = serializers.IntegerField()
    course_seconds = serializers.FloatField(allow_null=True)
    place = serializers.CharField()
    share = serializers.FloatField(allow_null=True)
    forecast = ForecastShape(allow_null=True)


class ReviewShape(serializers.Serializer[Any]):
    """A class after it. ``results`` are everybody's, the furthest first. What hurts whom is
    on the coach's page only; here it is counted."""

    kind = serializers.ChoiceField(choices=[kind.value for kind in Kind])
    members = serializers.IntegerField()
    logged = serializers.IntegerField()
    missing = serializers.IntegerField()
    regulars_missing = serializers.IntegerField()
    as_prescribed = serializers.IntegerField()
    finished = serializers.IntegerField()
    pains = serializers.IntegerField()
    claims = ClaimShape(many=True)
    quarters = QuartersShape(allow_null=True)
    stopped = StoppedShape(many=True)
    blocks = BlockShape(many=True)
    used = UsedShape(many=True)
    effort = ReviewEffortShape()
    last_time = LastShape(allow_null=True)
    plan = PlanBesideShape(allow_null=True)
    results = PlaceShape(many=True)


class ReviewView(CoachView):
    """What happened in a class."""

    @extend_schema(operation_id="class_review", responses=ReviewShape)
    def get(self, request: Request, pk: int) -> Response:
        """The claims about a class and their figures (coaches); 404 where nothing is scored."""
        streamed = managed_or_404(self.viewer, pk)
        found = review(streamed_class=streamed, viewer=self.viewer)
        if found is None:
            raise Http404
        return Response(ReviewShape(_told(found)).data)


def _told(found: Review) -> dict[str, Any]:
    four = found.quarters
    return {
        "kind": found.kind.value,
        "members": found.members,
        "logged": found.logged,
        "missing": found.missing,
        "regulars_missing": found.usual_missing,
        "as_prescribed": found.prescribed,
        "finished": found.finished,
        "pains": len(found.pains),
        "claims": [{"text": c.text, "about": c.anchor.value} for c in found.claims],
        "quarters": four
        and {
            "quarter": four.low.place,
            "half": four.half.place,
            "three_quarters": four.high.place,
        },
        "stopped": [
            {
                "where": row.where,
                "movement": row.movement,
                "count": row.count,
                "as_prescribed": row.prescribed,
                "share": float(row.share),
                "by_here": float(row.by_here),
            }
            for row in found.stopped
        ],
        "blocks": _blocks(found),
        "used": _used(found),
        "effort": {
            "counts": list(found.effort.counts),
            "told": found.effort.told,
            "half": found.effort.half,
        },
        "last_time": _last(found.before.last, found.kind),
        "plan": _plan(found.plan),
        "results": [
            {
                "result": row.result_id,
                "name": row.name,
                "mark": row.score.fact.mark,
                "place": row.place,
                "raw_reps": row.score.raw_reps,
                "as_prescribed": row.stop.prescribed,
                "options": row.options,
                "effort": row.score.fact.effort,
            }
            for row in found.rows
        ],
    }


def _blocks(found: Review) -> list[dict[str, Any]]:
    told = []
    for row in found.passed:
        low, half, high = map(float, row.quarters) if row.quarters else (None, None, None)
        told.append(
            {
                "block": row.block,
                "plan": float(row.reference),
                "quarter": low,
                "half": half,
                "three_quarters": high,
                "noted": row.noted,
                "passed": row.passed,
            }
        )
    return told


def _used(found: Review) -> list[dict[str, Any]]:
    return [
        {
            "line": use.number,
            "movement": use.movement,
            "got_there": use.there,
            "ways": [
                {
                    "done_as": way.label,
                    "as_prescribed": way.prescribed,
                    "credit": figure(way.credit, most=4),
                    "count": way.count,
                    "share": float(way.share),
                    "half_got_to": way.median,
                }
                for way in use.ways
            ],
        }
        for use in found.used
    ]


def _last(last: LastTime | None, kind: Kind) -> dict[str, Any] | None:
    if last is None:
        return None
    per = 1 if kind is Kind.LIFT else 60
    change = last.change
    return {
        "streamed_class": last.streamed_class.pk,
        "starts_at": last.streamed_class.starts_at,
        "change": change
        and {
            "count": change.count,
            "percent": change.percent,
            "low": change.low,
            "high": change.high,
        },
        "has_other_credits": last.has_other_credits,
        "logged_then": last.count_then,
        "half_then": figure(last.half_then * per),
        "half_now": figure(last.half_now * per),
        "members": [
            {
                "result": then.row.result_id,
                "name": then.row.name,
                "mark_then": then.before.fact.mark,
                "mark_now": then.row.score.fact.mark,
                "options_then": then.options_then,
                "options_now": then.row.options,
                "percent": then.percent,
            }
            for then in last.both
        ],
    }


def _plan(plan: Plan | None) -> dict[str, Any] | None:
    if plan is None:
        return None
    found = plan.forecast
    return {
        "is_learned": plan.is_learned,
        "cap": plan.cap,
        "course_seconds": None if plan.total is None else float(plan.total),
        "place": plan.place,
        "share": None if plan.share is None else float(plan.share),
        "forecast": found
        and {
            "count": found.count,
            "finishing": found.finishing,
            "finished": found.finished,
            "halfway": found.halfway,
            "reached": found.reached,
        },
    }
