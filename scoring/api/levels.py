"""Levels over time, and what was common to a class, as JSON."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, CoachView, MemberView, Time
from members.models import Membership
from members.selectors import members_of
from scoring.core.estimation import class_words
from scoring.core.estimation.level_words import CAUTION
from scoring.selectors.levels import (
    LevelSeen,
    class_effect_of,
    level_of,
    read_since,
    today_of,
)

from .classes import managed_or_404
from .rounding import share, tenth

SINCE = OpenApiParameter(
    "since", OpenApiTypes.DATE, description="The day to compare with; three months ago."
)


class LevelPointShape(serializers.Serializer[Any]):
    """A level on a day; ``results`` are from that day, 0 in between."""

    day = serializers.DateField()
    level = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    results = serializers.IntegerField()


class LevelShape(serializers.Serializer[Any]):
    """A member's level today: 100 is the gym's typical member, about the average of all who
    have results, each as they began; 110 is a tenth faster at the same work. ``low`` to ``high``
    holds it four times in five. Without a result all three are the typical member's, as wide
    as members differ."""

    day = serializers.DateField(help_text="Today, by the gym's clock.")
    level = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    results = serializers.IntegerField(help_text="How many it is from.")
    last_result = serializers.DateField(allow_null=True)
    until = Time(allow_null=True, help_text="Start of the last class in the gym's estimate.")
    is_settled = serializers.BooleanField(help_text="Whether the estimate had come to rest.")
    later = serializers.IntegerField(help_text="Results after that, not in it yet.")
    since = serializers.DateField(help_text="The day asked to compare with.")
    compared = serializers.DateField(
        allow_null=True,
        help_text="The day compared with: that of the first result where that came later; "
        "null where no result came after it.",
    )
    improved = serializers.FloatField(
        allow_null=True,
        min_value=0,
        max_value=1,
        help_text="The probability of being faster today; null with nothing to compare.",
    )
    path = LevelPointShape(many=True, help_text="The oldest first, to today.")
    caution = serializers.CharField()


def told_level(seen: LevelSeen) -> dict[str, Any]:
    """A level as ``LevelShape`` takes it."""
    return {
        "day": seen.today,
        "level": tenth(seen.now.level),
        "low": tenth(seen.now.low),
        "high": tenth(seen.now.high),
        "results": seen.results,
        "last_result": seen.last,
        "until": seen.until,
        "is_settled": seen.is_settled,
        "later": seen.later,
        "since": seen.since,
        "compared": seen.compared,
        "improved": None if seen.improved is None else share(seen.improved),
        "path": [
            {
                "day": point.date,
                "level": tenth(point.reading.level),
                "low": tenth(point.reading.low),
                "high": tenth(point.reading.high),
                "results": point.results,
            }
            for point in seen.points
        ],
        "caution": CAUTION,
    }


def _answer(request: Request, member: Membership, viewer: Membership) -> Response:
    now = timezone.now()
    since = read_since(request.query_params.get("since", ""), today_of(member, now))
    seen = level_of(member=member, viewer=viewer, now=now, since=since)
    if seen is None:
        raise Http404
    return Response(LevelShape(told_level(seen)).data)


class MyLevel(MemberView):
    """One's own level."""

    @extend_schema(
        operation_id="me_level", parameters=[SINCE], responses={200: LevelShape, 422: REFUSED[422]}
    )
    def get(self, request: Request) -> Response:
        """My level over time, and how likely it is that I am faster than on a day. It is no
        statement about health."""
        return _answer(request, self.viewer, self.viewer)


class MemberLevel(CoachView):
    """A member's level."""

    @extend_schema(
        operation_id="member_level",
        parameters=[SINCE],
        responses={200: LevelShape, 422: REFUSED[422]},
    )
    def get(self, request: Request, pk: int) -> Response:
        """A member's level over time, for their coaches. It is no statement about health."""
        member = members_of(self.viewer.gym).filter(pk=pk).first()
        if member is None:
            raise NotFound("No member of your gym has this number: see /api/v1/members/.")
        return _answer(request, member, self.viewer)


class PercentShape(serializers.Serializer[Any]):
    """Percent more time, above 0 slower; ``low`` to ``high`` holds it four times in five."""

    percent = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()


class SameWorkoutShape(serializers.Serializer[Any]):
    """The other times of the same workout together, and this class beside those."""

    times = serializers.IntegerField()
    results = serializers.IntegerField()
    others = PercentShape()
    beside = PercentShape()


class ClassEffectShape(serializers.Serializer[Any]):
    """What a class had in common beyond its movements and who came, in percent more time:
    above 0 is slower. ``low`` to ``high`` holds it four times in five. All null where the
    gym's estimate doesn't hold the class yet."""

    percent = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    results = serializers.IntegerField(help_text="Of this class, in the estimate.")
    same_workout = SameWorkoutShape(allow_null=True)
    until = Time(allow_null=True, help_text="Start of the last class in the gym's estimate.")
    is_settled = serializers.BooleanField(help_text="Whether the estimate had come to rest.")
    text = serializers.CharField()


def _percent(found: class_words.ClassEffect) -> dict[str, float]:
    return {"percent": tenth(found.percent), "low": tenth(found.low), "high": tenth(found.high)}


class ClassEffectOne(CoachView):
    """Was it the workout or the day?"""

    @extend_schema(operation_id="class_effect", responses=ClassEffectShape)
    def get(self, request: Request, pk: int) -> Response:
        """How much slower or faster everybody was than their levels and the workout's
        movements would say (coaches); 404 where no clock runs."""
        streamed = managed_or_404(self.viewer, pk)
        seen = class_effect_of(streamed_class=streamed, viewer=self.viewer)
        if seen is None:
            raise NotFound("No clock runs in this class's workout, so nothing is worked out of it.")
        found = seen.effect
        text = class_words.nothing_text()
        if found is not None:
            text = class_words.effect_text(found, seen.times)
        told = {
            **(_percent(found) if found else dict.fromkeys(("percent", "low", "high"))),
            "results": found.results if found else 0,
            "same_workout": seen.times
            and {
                "times": seen.times.count,
                "results": seen.times.others.results,
                "others": _percent(seen.times.others),
                "beside": _percent(seen.times.beside),
            },
            "until": seen.until,
            "is_settled": seen.is_settled,
            "text": text,
        }
        return Response(ClassEffectShape(told).data)
