"""What goes in and out of a class while its results come in."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Number, Time
from scoring.core.oddities import Kind

from .shapes import RequestShape

MAX_LINE = 300


QUESTION_KINDS = [kind.value for kind in Kind]


class LivePersonShape(serializers.Serializer[Any]):
    member = serializers.IntegerField()
    name = serializers.CharField()


class UsualShape(serializers.Serializer[Any]):
    """Who usually comes: of ``total``, ``logged`` have."""

    rule = serializers.CharField(help_text="By what rule that is said, in words.")
    total = serializers.IntegerField()
    logged = serializers.IntegerField()
    missing = LivePersonShape(many=True)


class NewestShape(serializers.Serializer[Any]):
    """A result as it came in."""

    result = serializers.IntegerField()
    fact = serializers.IntegerField()
    member = serializers.IntegerField()
    name = serializers.CharField()
    rank = serializers.IntegerField()
    mark = serializers.CharField()
    options = serializers.CharField(help_text="In words; empty as prescribed.")
    adjusted = serializers.CharField()
    effort = serializers.IntegerField(allow_null=True)
    at = Time()


class HurtShape(serializers.Serializer[Any]):
    """What hurts somebody. ``advice`` is what is usually said to it; it judges nothing."""

    member = serializers.IntegerField()
    name = serializers.CharField()
    areas = serializers.ListField(child=serializers.CharField())
    words = serializers.CharField()
    advice = serializers.ListField(child=serializers.CharField())
    result = serializers.IntegerField(allow_null=True)


class QuestionShape(serializers.Serializer[Any]):
    """An odd mark with the reason it is asked about. Nothing is removed by itself."""

    fact = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=QUESTION_KINDS)
    reason = serializers.CharField()
    result = serializers.IntegerField()
    member = serializers.IntegerField()
    name = serializers.CharField()
    mark = serializers.CharField()


class LiveShape(serializers.Serializer[Any]):
    """How a class stands. ``missing`` are all active members who have not logged."""

    state = serializers.CharField()
    logged = serializers.IntegerField()
    missing = serializers.IntegerField()
    usual = UsualShape()
    others_missing = LivePersonShape(many=True)
    newest = NewestShape(many=True)
    hurts = HurtShape(many=True)
    questions = QuestionShape(many=True)
    requests_waiting = RequestShape(many=True)


class QuestionIn(serializers.Serializer[Any]):
    """Which question is answered: this fact looks right as it is."""

    fact = Number()
    kind = serializers.ChoiceField(choices=QUESTION_KINDS)


class LineIn(serializers.Serializer[Any]):
    """One line, ``ana 2+9 tuck, knee``. ``member`` and ``answers`` settle what an answer
    asked before; ``correct`` lets it change a result that is there, with a ``reason``."""

    line = serializers.CharField(max_length=MAX_LINE)
    dry_run = serializers.BooleanField(default=False)
    member = Number(required=False)
    answers = serializers.DictField(
        child=serializers.CharField(max_length=MAX_LINE, allow_blank=True),
        default=dict,
        help_text="By the doubtful part of the line: one of its choices, or nothing to leave "
        "it out.",
    )
    correct = serializers.BooleanField(default=False)
    reason = serializers.CharField(max_length=500, allow_blank=True, default="")


class LineDoubtShape(serializers.Serializer[Any]):
    part = serializers.CharField()
    words = serializers.CharField()
    choices = serializers.ListField(child=serializers.CharField())


class ToldLineShape(serializers.Serializer[Any]):
    """What a line comes to. It is ``kept``, or says what must be said first: whose it is of
    the ``candidates``, the ``doubts``, or that it ``corrects`` a result that is there."""

    kept = serializers.BooleanField()
    replayed = serializers.BooleanField()
    member = LivePersonShape(allow_null=True)
    candidates = LivePersonShape(many=True)
    mark = serializers.CharField()
    options = serializers.CharField()
    splits = serializers.CharField()
    effort = serializers.IntegerField(allow_null=True)
    note = serializers.CharField()
    adjusted = serializers.CharField(allow_null=True)
    doubts = LineDoubtShape(many=True)
    corrects = serializers.CharField(
        allow_null=True, help_text="The mark that counts now, if another one would take its place."
    )
    result = serializers.IntegerField(allow_null=True)
    fact = serializers.IntegerField(allow_null=True)
