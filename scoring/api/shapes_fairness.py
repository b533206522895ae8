"""What goes out as JSON about what options have been worth, and how far ranks may move."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Time


class WrittenShape(serializers.Serializer[Any]):
    """A credit that workouts write, which no change of the table reaches."""

    credit = serializers.CharField()
    classes = serializers.IntegerField(help_text="In how many; drafts aside.")
    suggestion = serializers.CharField(
        allow_null=True, help_text="What results clearly speak for in its place; else null."
    )


class WorthShape(serializers.Serializer[Any]):
    """An option or load against the way it is compared with. Figures are decimal texts; ``low``
    to ``high`` holds what it has been worth four times in five."""

    movement = serializers.CharField()
    option = serializers.CharField(help_text="Its label, as in the credit table.")
    against = serializers.CharField(help_text="What one rep of it is measured in.")
    credit = serializers.CharField()
    worth = serializers.CharField()
    low = serializers.CharField()
    high = serializers.CharField()
    results = serializers.IntegerField(help_text="Results with it.")
    is_early = serializers.BooleanField(
        help_text="So few results that the coach's credit speaks louder."
    )
    suggestion = serializers.CharField(
        allow_null=True,
        help_text="A credit to send to /api/v1/credits/changes/ with this movement and option; "
        "null where results are not clear, or no entry of the table could change it.",
    )
    by_table = serializers.IntegerField(help_text="Classes that leave the credit to the table.")
    written = WrittenShape(many=True)
    words = serializers.CharField()
    verdict = serializers.CharField(help_text="Whether the credit is another than results say.")
    remark = serializers.CharField(allow_blank=True)


class FairnessShape(serializers.Serializer[Any]):
    """What options have been worth in a gym's results. ``made_at`` is null before anything has
    been worked out, and ``options`` empty then."""

    made_at = Time(allow_null=True)
    results = serializers.IntegerField(help_text="Results it rests on.")
    until = Time(allow_null=True, help_text="When the last class it counts began.")
    selection = serializers.CharField(help_text="How to read the figures.")
    may_change = serializers.BooleanField()
    unused = serializers.IntegerField(help_text="Options and loads without a result.")
    options = WorthShape(many=True)
