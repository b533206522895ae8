"""A text tried out, and what it asks of a group, as JSON. Exact figures are decimal texts."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Time
from scoring.core.remarks import About, Kind

from .shapes import CourseShape, RemarkShape, TextIn

_SECONDS = "In usual seconds from the start."


class PreviewIn(TextIn):
    weighted = serializers.BooleanField(
        default=False, help_text="Whether reps weigh their reference seconds."
    )
    above_one = serializers.BooleanField(
        default=False, help_text="Whether a heavier load may count more than 1."
    )
    starts_at = Time(
        default=None,
        allow_null=True,
        help_text="When it is to be held, now if left out: classes before are compared with it.",
    )


class StretchShape(serializers.Serializer[Any]):
    """A set on the clock, or a rest, whose ``line``, ``where`` and ``movement`` are empty."""

    start = serializers.CharField(help_text=_SECONDS)
    end = serializers.CharField(help_text=_SECONDS)
    block = serializers.IntegerField()
    line = serializers.CharField(allow_blank=True)
    where = serializers.CharField(allow_blank=True)
    movement = serializers.CharField(allow_blank=True)
    reps = serializers.IntegerField(
        allow_null=True, help_text="null for a rest, and for as many as possible."
    )


class DrawingShape(serializers.Serializer[Any]):
    """The course to scale by time; of intervals one."""

    is_interval = serializers.BooleanField()
    stops = serializers.IntegerField(
        allow_null=True, help_text="The cap, or the interval's end, in seconds."
    )
    group_stops = serializers.CharField(
        allow_null=True, help_text="Where on this scale the cap stops the group's own pace."
    )
    stretches = StretchShape(many=True)


class RepsShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    reps = serializers.IntegerField()


class SideTotalShape(serializers.Serializer[Any]):
    line = serializers.CharField()
    movement = serializers.CharField()
    starting = serializers.IntegerField(help_text="On the side one starts with.")
    other = serializers.IntegerField()


class NeededShape(serializers.Serializer[Any]):
    gear = serializers.CharField()
    movements = serializers.ListField(child=serializers.CharField())
    only_options = serializers.BooleanField(help_text="Nothing as prescribed needs it.")


class BeyondShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    ratio = serializers.CharField(help_text="The plan to this member's own average.")


class GroupVolumeShape(serializers.Serializer[Any]):
    """A planned volume beside what this group has done of that movement."""

    movement = serializers.CharField()
    planned = serializers.IntegerField()
    members = serializers.IntegerField(help_text="Who have done it.")
    average = serializers.CharField(help_text="Of their averages a class.")
    ratio = serializers.CharField(help_text="The plan to that average.")
    beyond = BeyondShape(
        many=True, help_text="For whom it is more than they ever did in one class."
    )


class PlanRemarkShape(serializers.Serializer[Any]):
    """``words`` is a warning that goes with it, empty for most."""

    about = serializers.ChoiceField(choices=[a.value for a in About])
    kind = serializers.ChoiceField(choices=[k.value for k in Kind])
    what = serializers.CharField()
    why = serializers.CharField()
    mend = serializers.CharField()
    words = serializers.CharField(allow_blank=True)


class SuggestionShape(serializers.Serializer[Any]):
    """An option to add below a line; ``text`` is its line of the board."""

    line = serializers.CharField()
    movement = serializers.CharField()
    text = serializers.CharField()
    why = serializers.CharField()
    counts = serializers.CharField()


class GroupSpeedShape(serializers.Serializer[Any]):
    value = serializers.CharField(help_text="Against the usual seconds a rep, 1 is as fast.")
    results = serializers.IntegerField(help_text="It is the middle of so many results.")


class CoursePlanShape(serializers.Serializer[Any]):
    """What a text asks of this group. ``totals`` and ``patterns`` are reps, the most first;
    ``is_guess`` says that they rest on a pace, as an AMRAP's do."""

    drawing = DrawingShape()
    no_forecast = serializers.CharField(
        allow_blank=True, help_text="Why this workout or group has no forecast."
    )
    is_guess = serializers.BooleanField()
    totals = RepsShape(many=True)
    patterns = RepsShape(many=True)
    sides = SideTotalShape(many=True)
    odd_reps = serializers.ListField(child=serializers.CharField())
    gear = NeededShape(many=True)
    told_gear = serializers.IntegerField(help_text="Members who told their gear.")
    equipped = serializers.IntegerField(help_text="Of these, who can do every line some way.")
    speed = GroupSpeedShape(allow_null=True)
    volumes = GroupVolumeShape(many=True)
    remarks = PlanRemarkShape(many=True)
    suggestions = SuggestionShape(many=True)


class PreviewShape(serializers.Serializer[Any]):
    """What a text comes to. All but ``problems`` is null or empty while lines can't be read."""

    text = serializers.CharField(allow_null=True, help_text="As it would be kept.")
    course = CourseShape(allow_null=True)
    plan = CoursePlanShape(allow_null=True)
    notes = RemarkShape(many=True)
    problems = RemarkShape(many=True)
