"""Which messages a member wants, as JSON."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from scoring.models import MessageKind

CLOCK = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"


class KindsShape(serializers.Serializer[Any]):
    """Each kind of message, on or off."""

    opened = serializers.BooleanField(help_text=MessageKind.OPENED.label)
    reminder = serializers.BooleanField(help_text=MessageKind.REMINDER.label)
    corrected = serializers.BooleanField(help_text=MessageKind.CORRECTED.label)
    answered = serializers.BooleanField(help_text=MessageKind.ANSWERED.label)
    weekly = serializers.BooleanField(help_text=MessageKind.WEEKLY.label)
    closed = serializers.BooleanField(help_text=MessageKind.CLOSED.label, required=False)
    follow_up = serializers.BooleanField(help_text=MessageKind.FOLLOW_UP.label)


class MessagesIn(serializers.Serializer[Any]):
    """What I want by e-mail. Nothing is sent in quiet hours, by my own clock."""

    kinds = KindsShape()
    quiet_from = serializers.RegexField(CLOCK, help_text="A time of day, such as 21:00.")
    quiet_until = serializers.RegexField(CLOCK, help_text="Equal to the other: no quiet hours.")


class MessagesShape(MessagesIn):
    has_proven_address = serializers.BooleanField(help_text="If not, nothing is sent.")
