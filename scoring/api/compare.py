"""Classes beside each other, and the runs of a workout, as JSON."""

from __future__ import annotations

from math import exp
from typing import Any
from zoneinfo import ZoneInfo

from django.http import Http404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, CoachView, Time
from scoring.core import compare_words as words
from scoring.core.comparing import Estimate
from scoring.core.grouping import Middle, Share
from scoring.selectors.compare import Group, compare
from scoring.selectors.compare_asked import BY, read_asked
from scoring.selectors.runs import Run, runs_of

DIFFERS = ("higher", "lower", "none", "few", "alone", "open")


class IntervalShape(serializers.Serializer[Any]):
    """A figure and where the true one lies in 95 of 100 cases; null where there are too few
    to say. ``people`` is from how many it is."""

    value = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    people = serializers.IntegerField()
    is_from_few = serializers.BooleanField(help_text="Below five: too few to say anything.")


class ShareShape(IntervalShape):
    """A share from 0 to 1: ``hits`` of ``tries``."""

    hits = serializers.IntegerField()
    tries = serializers.IntegerField()


class EffortShape(IntervalShape):
    """The median of efforts told, 0 to 10, its quartiles, and how many told."""

    lower_quartile = serializers.FloatField()
    upper_quartile = serializers.FloatField()


class GroupShape(serializers.Serializer[Any]):
    """Classes with something in common. ``logged`` is of those who usually come. ``pace`` is
    100 for the same people's mean, counted from members or from workouts, as ``pace_by``
    says."""

    key = serializers.CharField(allow_blank=True)
    title = serializers.CharField()
    more = serializers.CharField(allow_blank=True)
    classes = serializers.ListField(child=serializers.IntegerField())
    results = serializers.IntegerField()
    members = serializers.IntegerField()
    expected = serializers.IntegerField()
    still_open = serializers.IntegerField(help_text="Classes not counted yet among who logged.")
    logged = ShareShape(allow_null=True)
    prescribed = ShareShape(allow_null=True)
    effort = EffortShape(allow_null=True)
    pace = IntervalShape(allow_null=True)
    pace_by = serializers.ChoiceField(choices=("members", "workouts"))
    differs = serializers.DictField(
        child=serializers.ChoiceField(choices=DIFFERS),
        allow_null=True,
        help_text="By measure, how the group stands to all the others: none is no clear "
        "difference, few too few to say, alone nothing to compare with, open that more may log.",
    )


class ComparisonShape(serializers.Serializer[Any]):
    """Groups in their own order, and all of them together; null where no class was held."""

    by = serializers.ChoiceField(choices=tuple(BY))
    first = serializers.DateField()
    last = serializers.DateField()
    caution = serializers.CharField()
    groups = GroupShape(many=True)
    whole = GroupShape(allow_null=True)


def interval(figure: Estimate | None, *, as_index: bool = False) -> dict[str, Any] | None:
    """A figure; a pace's logarithm as an index with 100 for no difference."""
    if figure is None or figure.value is None:
        return None
    ends = (figure.value, figure.low, figure.high)
    value, low, high = (
        None if end is None else 100 * exp(end) if as_index else end for end in ends
    )
    told = {
        "value": value, "low": low, "high": high,
        "people": figure.n, "is_from_few": figure.is_from_few,
    }  # fmt: skip
    if isinstance(figure, Share):
        told |= {"hits": figure.hits, "tries": figure.tries}
    if isinstance(figure, Middle):
        told |= {"lower_quartile": figure.lower, "upper_quartile": figure.upper}
    return told


def group(found: Group) -> dict[str, Any]:
    """A group as ``GroupShape`` takes it."""
    measures = found.measures
    return {
        "key": found.key.name,
        "title": found.key.label,
        "more": found.key.more,
        "classes": [streamed.pk for streamed in found.classes],
        "results": found.results,
        "members": found.members,
        "expected": found.expected,
        "still_open": found.fresh,
        "logged": interval(measures.logged),
        "prescribed": interval(measures.prescribed),
        "effort": interval(measures.effort),
        "pace": interval(measures.pace, as_index=True),
        "pace_by": found.pace_by,
        "differs": found.differs or None,
    }


class Compare(CoachView):
    """Classes compared."""

    @extend_schema(
        operation_id="compare",
        parameters=[
            OpenApiParameter("by", enum=tuple(BY), description="class, unless told"),
            OpenApiParameter(
                "from", OpenApiTypes.DATE, description="The first day; twelve weeks, unless told."
            ),
            OpenApiParameter("to", OpenApiTypes.DATE, description="The last day; today."),
        ],
        responses={200: ComparisonShape, 422: REFUSED[422]},
    )
    def get(self, request: Request) -> Response:
        """Attendance, share as prescribed, effort and pace by what classes have in common,
        each with how far it can be believed. At most 366 days of the gym's clock."""
        now, asked = timezone.now(), request.query_params
        found = compare(
            viewer=self.viewer,
            asked=read_asked(
                by=asked.get("by", ""),
                first=asked.get("from", ""),
                last=asked.get("to", ""),
                today=now.astimezone(ZoneInfo(self.viewer.gym.timezone)).date(),
            ),
            now=now,
        )
        if found is None:
            raise Http404
        told = {
            "by": found.asked.by,
            "first": found.asked.first,
            "last": found.asked.last,
            "caution": words.CHANCE,
            "groups": [group(each) for each in found.groups],
            "whole": group(found.whole) if found.whole else None,
        }
        return Response(ComparisonShape(told).data)


class RunShape(serializers.Serializer[Any]):
    """A run of a workout. ``marks`` are the adjusted marks in the middle of the board;
    ``change`` is the factor by which the pace of those changed who did the run before too,
    null at the first, without anybody who did both, or where reps weigh otherwise."""

    id = serializers.IntegerField(help_text="The class.")
    title = serializers.CharField()
    starts_at = Time()
    coach = serializers.CharField()
    results = serializers.IntegerField()
    prescribed = ShareShape(allow_null=True)
    marks = serializers.ListField(child=serializers.CharField())
    effort = EffortShape(allow_null=True)
    change = IntervalShape(allow_null=True, help_text="100 is as fast as the run before.")
    is_alike = serializers.BooleanField()


def run(found: Run) -> dict[str, Any]:
    """A run as ``RunShape`` takes it."""
    streamed = found.streamed
    return {
        "id": streamed.pk,
        "title": streamed.workout.title,
        "starts_at": streamed.starts_at,
        "coach": streamed.coach.display_name,
        "results": found.results,
        "prescribed": interval(found.prescribed),
        "marks": found.marks,
        "effort": interval(found.effort),
        "change": interval(found.change, as_index=True),
        "is_alike": found.is_alike,
    }


class Runs(CoachView):
    """A workout each time it was given."""

    @extend_schema(operation_id="workout_runs", responses=RunShape(many=True))
    def get(self, request: Request, pk: int) -> Response:
        """Every run of a workout, by whatever title, the oldest first."""
        found = runs_of(viewer=self.viewer, pk=pk, now=timezone.now())
        if found is None:
            raise Http404
        return Response(RunShape([run(each) for each in found.runs], many=True).data)
