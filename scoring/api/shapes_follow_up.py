"""Whom to have a word with, as JSON."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Asked, Time
from scoring.core.follow_up import LABELS, SILENT_AT_LEAST, SILENT_AT_MOST, Reason
from scoring.core.follow_up_words import MAX_WORDS

LETTER_STATES = ["waiting", "sent", "not sent"]
DECISIONS = ["done", "later", "never"]
REASONS = [(reason.value, LABELS[reason]) for reason in Reason]
OCCASION = r"^[a-z0-9-]{1,40}$"


class OfClassAsked(serializers.Serializer[Any]):
    """What came up in one ``class``; left out, in the last two weeks of the gym."""

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        found = serializers.IntegerField(required=False, min_value=1, max_value=2**63 - 1)
        return {**super().get_fields(), "class": found}


class ListAsked(OfClassAsked, Asked):
    """The same, and which part of the list."""


class ReasonAsked(OfClassAsked):
    reason = serializers.ChoiceField(choices=REASONS)
    occasion = serializers.RegexField(
        OCCASION, required=False, default="", help_text="Left out: the newest one."
    )


class ReasonShape(serializers.Serializer[Any]):
    """A reason with its evidence. ``occasion`` names what it is about, for acting on it."""

    reason = serializers.ChoiceField(choices=REASONS)
    told = serializers.CharField(help_text="The reason in words.")
    occasion = serializers.CharField()
    evidence = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
    result = serializers.IntegerField(allow_null=True)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        return {**super().get_fields(), "class": serializers.IntegerField(allow_null=True)}


class PersonShape(serializers.Serializer[Any]):
    """A member with what is open, the most careful reason first."""

    member = serializers.IntegerField()
    name = serializers.CharField()
    reasons = ReasonShape(many=True)


class LetterShape(serializers.Serializer[Any]):
    """That something was sent; the words are not kept."""

    reason = serializers.ChoiceField(choices=REASONS)
    asked_at = Time()
    by = serializers.CharField(allow_null=True)
    state = serializers.ChoiceField(choices=LETTER_STATES)


class MemberFollowUpShape(PersonShape):
    """``unreachable`` says why no e-mail can be sent to them; empty if it can."""

    unreachable = serializers.CharField(allow_blank=True)
    letters = LetterShape(many=True, help_text="The newest 20.")


class ActIn(OfClassAsked):
    """``done`` and ``later`` are about one occasion, ``never`` about the reason."""

    act = serializers.ChoiceField(choices=DECISIONS)
    reason = serializers.ChoiceField(choices=REASONS)
    occasion = serializers.RegexField(
        OCCASION, required=False, default="", help_text="Left out: the newest one."
    )
    until = serializers.DateField(
        required=False, allow_null=True, default=None, help_text="For later: on the list from."
    )


class AwayShape(serializers.Serializer[Any]):
    """What was put away; ``id`` takes it back."""

    id = serializers.IntegerField()
    member = serializers.IntegerField()
    name = serializers.CharField()
    reason = serializers.ChoiceField(choices=REASONS)
    state = serializers.ChoiceField(choices=DECISIONS)
    until = serializers.DateField(allow_null=True)
    at = Time()
    by = serializers.CharField(allow_null=True)


class DraftShape(serializers.Serializer[Any]):
    """``added`` is what stands below the words of every letter about a pain."""

    reason = serializers.ChoiceField(choices=REASONS)
    occasion = serializers.CharField()
    words = serializers.CharField()
    added = serializers.ListField(child=serializers.CharField())
    unreachable = serializers.CharField(allow_blank=True)


class LetterIn(OfClassAsked):
    """``key`` is of the caller's making; sent again with it, nothing more is sent."""

    reason = serializers.ChoiceField(choices=REASONS)
    occasion = serializers.RegexField(OCCASION, required=False, default="")
    words = serializers.CharField(max_length=MAX_WORDS, trim_whitespace=False)
    key = serializers.CharField(max_length=64)


class FieldShape(serializers.Serializer[Any]):
    field = serializers.CharField()
    told = serializers.CharField()


class WordsShape(serializers.Serializer[Any]):
    """The words for a reason: one's own, else the gym's, else the usual ones."""

    reason = serializers.ChoiceField(choices=REASONS)
    in_use = serializers.CharField()
    own = serializers.CharField(allow_blank=True)
    gym = serializers.CharField(allow_blank=True)
    usual = serializers.CharField()
    fields_known = FieldShape(many=True)


class WhoseAsked(serializers.Serializer[Any]):
    whose = serializers.ChoiceField(choices=["own", "gym"], default="own")


class WordsIn(WhoseAsked):
    text = serializers.CharField(max_length=MAX_WORDS, trim_whitespace=False)


class FollowUpSettingsShape(serializers.Serializer[Any]):
    silent_days = serializers.IntegerField(
        min_value=SILENT_AT_LEAST,
        max_value=SILENT_AT_MOST,
        help_text="After so many days without a result somebody is listed.",
    )
