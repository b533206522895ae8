"""What goes out as JSON about what results have taught."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Time
from scoring.models import EstimateRun


class EstimateRunShape(serializers.Serializer[Any]):
    """How far the newest estimate is. ``done`` of ``total`` classes are read."""

    state = serializers.ChoiceField(EstimateRun.State.choices)
    told = serializers.CharField(help_text="The same in words.")
    asked_at = Time()
    asked_by = serializers.CharField(allow_blank=True, help_text="Empty: the service itself.")
    done = serializers.IntegerField()
    total = serializers.IntegerField()
    finished_at = Time(allow_null=True)


class SpreadsShape(serializers.Serializer[Any]):
    """Standard deviations of logarithms: 0.08 is about 8 %."""

    noise = serializers.FloatField(help_text="Of one result.")
    level = serializers.FloatField(help_text="Between members.")
    drift_a_day = serializers.FloatField(help_text="Of a member's level in one day.")
    classes = serializers.FloatField(help_text="Between classes.")
    fade = serializers.FloatField(help_text="How time grows with work: its power.")


class LearnedWayShape(serializers.Serializer[Any]):
    """What one unit of a way takes the typical member, with an 80 % interval."""

    movement = serializers.CharField()
    option = serializers.CharField(allow_blank=True, help_text="Done in its place.")
    load = serializers.CharField(allow_blank=True, help_text="Kilograms: `24`, `24/16`.")
    unit = serializers.CharField(help_text="reps, calories, metres or seconds.")
    seconds = serializers.FloatField()
    seconds_low = serializers.FloatField()
    seconds_high = serializers.FloatField()
    seconds_before = serializers.FloatField(
        help_text="What was held before any result: the catalogue's figure and the credits."
    )
    results = serializers.IntegerField()
    is_from_few = serializers.BooleanField(
        help_text="What was held before speaks louder than so few results."
    )


class EstimateShape(serializers.Serializer[Any]):
    """What a gym's results have taught. With ``is_prior`` no result has told anything yet:
    then it is the catalogue and the credits, and ``made_at`` may be null."""

    id = serializers.IntegerField(allow_null=True)
    is_prior = serializers.BooleanField()
    made_at = Time(allow_null=True)
    until = Time(allow_null=True, help_text="The start of the last class counted.")
    results = serializers.IntegerField()
    members = serializers.IntegerField()
    classes = serializers.IntegerField()
    left_out = serializers.IntegerField(help_text="Results that can't be read any more.")
    converged = serializers.BooleanField()
    convergence = serializers.CharField(allow_blank=True)
    spreads = SpreadsShape()
    ways = LearnedWayShape(many=True)
    run = EstimateRunShape(allow_null=True)
