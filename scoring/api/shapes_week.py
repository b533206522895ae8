"""What goes in and out of planning: weeks, drafts, past workouts, templates, the link."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Number, Time
from scoring.core.movements import Pattern
from scoring.core.week_copy import Standing
from scoring.models import State
from scoring.services.templates import MAX_NAME, MAX_NOTE, MAX_TEXT

from .shapes import OfClass

PATTERNS = [pattern.value for pattern in Pattern]
WEEK_HELP = "An ISO 8601 week, 2026-W48."


class WorkShape(serializers.Serializer[Any]):
    """Work of a movement pattern, by usual seconds a rep: rough, to plan by."""

    pattern = serializers.CharField()
    seconds = serializers.IntegerField()
    has_load = serializers.BooleanField(help_text="Whether a weight is written.")


class PlannedClassShape(serializers.Serializer[Any]):
    """A class of the plan. ``local`` is its start on the gym's clocks."""

    id = serializers.IntegerField()
    title = serializers.CharField()
    workout = serializers.IntegerField()
    state = serializers.ChoiceField(choices=State.choices)
    starts_at = Time()
    local = serializers.CharField(help_text="2026-11-24T18:00")
    coach = serializers.CharField()
    logged = serializers.IntegerField()
    cap = serializers.CharField(allow_blank=True)
    work = WorkShape(many=True)


class PlannedDayShape(serializers.Serializer[Any]):
    """A day; ``work`` is the most that one of its classes asks."""

    date = serializers.DateField()
    classes = PlannedClassShape(many=True)
    work = WorkShape(many=True)


class PastRunShape(serializers.Serializer[Any]):
    """A pattern on three days running or more."""

    pattern = serializers.CharField()
    days = serializers.ListField(child=serializers.DateField())
    has_load = serializers.BooleanField(help_text="Whether a weight is written on each day.")


class PlanWeekShape(serializers.Serializer[Any]):
    """Seven days of the gym, from Monday."""

    week = serializers.CharField(help_text=WEEK_HELP)
    timezone = serializers.CharField()
    days = PlannedDayShape(many=True)
    runs = PastRunShape(many=True)


class CopyAsked(serializers.Serializer[Any]):
    """Into which week."""

    to = serializers.CharField(max_length=8, help_text=WEEK_HELP)


class CopyIn(CopyAsked):
    """What to copy; without ``classes``, all that the week doesn't have on that day."""

    classes = serializers.ListField(child=Number(), required=False, max_length=200)
    with_notes = serializers.BooleanField(
        default=False, help_text="Whether the words to the members are copied."
    )


class CopyShape(OfClass):
    """What a copy would make of a class, and the class that stands there."""

    title = serializers.CharField()
    starts_at = Time()
    standing = serializers.ChoiceField(choices=[each.value for each in Standing])
    there = serializers.IntegerField(allow_null=True)
    is_shifted = serializers.BooleanField(
        help_text="Whether clocks jump over its time on that day, so that it comes later."
    )


class CopiedShape(serializers.Serializer[Any]):
    """Keys of the drafts made, and how many classes stood there already."""

    made = serializers.ListField(child=serializers.IntegerField())
    there = serializers.IntegerField()


class StartIn(serializers.Serializer[Any]):
    starts_at = Time()


class SearchAsked(serializers.Serializer[Any]):
    """What to look for; what is left out doesn't matter."""

    words = serializers.CharField(max_length=80, required=False, allow_blank=True)
    movement = serializers.CharField(max_length=80, required=False, allow_blank=True)
    pattern = serializers.ChoiceField(choices=PATTERNS, required=False)
    shortest = serializers.IntegerField(
        min_value=0, max_value=21_600, required=False, help_text="Seconds of the clock."
    )
    longest = serializers.IntegerField(min_value=0, max_value=21_600, required=False)
    ran_from = serializers.DateField(required=False, help_text="A day of the gym.")
    ran_to = serializers.DateField(required=False)


class WentShape(serializers.Serializer[Any]):
    """How its last class went; ``typical`` is the middle adjusted mark of the board."""

    logged = serializers.IntegerField()
    as_prescribed = serializers.IntegerField()
    typical = serializers.CharField()


class FoundShape(serializers.Serializer[Any]):
    """A past workout. It counts as the same under another title."""

    id = serializers.IntegerField()
    title = serializers.CharField()
    text = serializers.CharField()
    fingerprint = serializers.CharField()
    cap_seconds = serializers.IntegerField(allow_null=True)
    times = serializers.IntegerField(help_text="How often it ran.")
    last_ran = Time(allow_null=True)
    last_class = serializers.IntegerField(allow_null=True)
    went = WentShape(allow_null=True)


class TemplateIn(serializers.Serializer[Any]):
    """A frame for a class; its text may be anything."""

    name = serializers.CharField(max_length=MAX_NAME)
    text = serializers.CharField(max_length=MAX_TEXT, trim_whitespace=False)
    note = serializers.CharField(max_length=MAX_NOTE, allow_blank=True, default="")


class TemplateShape(TemplateIn):
    id = serializers.IntegerField()
    author = serializers.CharField(allow_null=True)
    changed_at = Time()


class LinkShape(serializers.Serializer[Any]):
    """The one link members need before, in and after a class, and words to send it with."""

    link = serializers.URLField()
    words = serializers.CharField()
    is_draft = serializers.BooleanField(help_text="Whether it opens for coaches only as yet.")
