"""What goes in and out as JSON about a gym's credits. Credits are decimal texts."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Time
from scoring.api.shapes import OfClass
from scoring.core.credit_changes import FIGURES
from scoring.models import CreditChange


class OnBoardShape(serializers.Serializer[Any]):
    """A credit that workouts write themselves, and in how many classes."""

    credit = serializers.CharField()
    classes = serializers.IntegerField()


class OptionShape(serializers.Serializer[Any]):
    """An option, what it counts by the table, and how it was used."""

    movement = serializers.CharField()
    option = serializers.CharField()
    credit = serializers.CharField(allow_null=True, help_text="null where the load rule says.")
    credit_from = serializers.CharField()
    is_in_table = serializers.BooleanField()
    on_board = OnBoardShape(many=True, help_text="Credits in workouts' texts beat the table.")
    is_idle = serializers.BooleanField(
        help_text="Every workout that offers it writes a credit, so the table has no say."
    )
    used = serializers.IntegerField(help_text="In how many results.")
    last_used_at = Time(allow_null=True)


class FigureShape(serializers.Serializer[Any]):
    name = serializers.ChoiceField(FIGURES)
    value = serializers.CharField()
    meaning = serializers.CharField()


class CreditsShape(serializers.Serializer[Any]):
    """The credit table that new classes count by. ``version`` is null before the first."""

    version = serializers.IntegerField(allow_null=True)
    may_change = serializers.BooleanField()
    figures = FigureShape(many=True)
    options = OptionShape(many=True)


class QueryAsked(serializers.Serializer[Any]):
    q = serializers.CharField(
        max_length=80, default="", allow_blank=True, help_text="In a movement's or option's name."
    )


class CreditStepShape(serializers.Serializer[Any]):
    """One value, from what to what; null where it stood in no table. ``movement`` is empty
    for a figure of the table."""

    movement = serializers.CharField(allow_blank=True)
    option = serializers.CharField()
    old = serializers.CharField(allow_null=True)
    new = serializers.CharField(allow_null=True)


class CreditVersionShape(serializers.Serializer[Any]):
    version = serializers.IntegerField()
    made_at = Time()
    by = serializers.CharField(allow_blank=True)
    reason = serializers.CharField()
    change = serializers.IntegerField(allow_null=True, help_text="The change that made it.")
    steps = CreditStepShape(many=True)


class EntryIn(serializers.Serializer[Any]):
    """A credit to set; null takes the option out of the table. For a figure of the table
    ``movement`` is left out and ``option`` its name."""

    movement = serializers.CharField(max_length=80, default="", allow_blank=True)
    option = serializers.CharField(max_length=120)
    credit = serializers.CharField(max_length=8, allow_null=True)


class CreditChangeIn(serializers.Serializer[Any]):
    entries = EntryIn(many=True, allow_empty=False)
    reason = serializers.CharField(max_length=200)
    scope = serializers.ChoiceField(CreditChange.Scope.choices, default=CreditChange.Scope.ALL)


class CreditReasonIn(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=200)


class SeenIn(serializers.Serializer[Any]):
    seen = serializers.CharField(
        max_length=64, help_text="``seen`` of the preview that was read, so that none is missed."
    )


class ChangeProgressShape(serializers.Serializer[Any]):
    """Classes done are those looked at, once accepted those counted again."""

    classes = serializers.IntegerField()
    classes_done = serializers.IntegerField()
    classes_moved = serializers.IntegerField()
    results = serializers.IntegerField()
    results_done = serializers.IntegerField()
    scores_moved = serializers.IntegerField()
    ranks_moved = serializers.IntegerField()


class CreditChangeShape(serializers.Serializer[Any]):
    """A change of credits: what, why, how far. ``seen`` is null until it is worked out."""

    id = serializers.IntegerField()
    state = serializers.ChoiceField(CreditChange.State.choices)
    scope = serializers.ChoiceField(CreditChange.Scope.choices)
    reason = serializers.CharField()
    by = serializers.CharField(allow_blank=True)
    asked_at = Time()
    accepted_at = Time(allow_null=True)
    finished_at = Time(allow_null=True)
    from_version = serializers.IntegerField()
    to_version = serializers.IntegerField(allow_null=True)
    undoes = serializers.IntegerField(allow_null=True)
    undone_by = serializers.IntegerField(allow_null=True)
    steps = CreditStepShape(many=True)
    conflicts = CreditStepShape(many=True, help_text="Of an undo: set again since, so they stay.")
    progress = ChangeProgressShape()
    is_stale = serializers.BooleanField(help_text="Results or credits changed since.")
    seen = serializers.CharField(allow_null=True)


class ChangedClassShape(OfClass):
    """What a change does to one class; counts are null until it is looked at."""

    title = serializers.CharField()
    starts_at = Time()
    from_version = serializers.IntegerField()
    results = serializers.IntegerField(allow_null=True)
    scores_moved = serializers.IntegerField(allow_null=True)
    ranks_moved = serializers.IntegerField(allow_null=True)
    done_at = Time(allow_null=True)


class MoveShape(serializers.Serializer[Any]):
    """A result that moves. Old values are null if it had no score."""

    result = serializers.IntegerField()
    name = serializers.CharField()
    old_rank = serializers.IntegerField(allow_null=True)
    new_rank = serializers.IntegerField()
    old_adjusted = serializers.CharField(allow_null=True)
    new_adjusted = serializers.CharField()
