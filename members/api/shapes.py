"""Members, invitations and tokens as JSON."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.models import CoachRight, Role, ShownAs
from members.services import INVITATION_DAYS, LONGEST_DAYS, MOST_USES, NAME_LENGTH

from .base import Number, Time


class GymShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    slug = serializers.CharField(help_text="What the X-Gym header takes.")
    timezone = serializers.CharField()


class MembershipShape(serializers.Serializer[Any]):
    """One's own place in a gym."""

    id = serializers.IntegerField()
    display_name = serializers.CharField()
    role = serializers.ChoiceField(choices=Role.choices)
    shown_as = serializers.ChoiceField(choices=ShownAs.choices)
    timezone = serializers.CharField(help_text="One's own; blank is the gym's.")
    gym = GymShape()


class MeShape(serializers.Serializer[Any]):
    """Who calls: the membership this call acts with, and all there are."""

    email = serializers.EmailField()
    membership = MembershipShape()
    memberships = MembershipShape(many=True)


class ProfileIn(serializers.Serializer[Any]):
    display_name = serializers.CharField(max_length=NAME_LENGTH, required=False)
    shown_as = serializers.ChoiceField(choices=ShownAs.choices, required=False)
    timezone = serializers.CharField(
        max_length=64,
        required=False,
        allow_blank=True,
        help_text="A name like Europe/Lisbon; blank is the gym's.",
    )


class MemberShape(serializers.Serializer[Any]):
    """A member as coaches see them."""

    id = serializers.IntegerField()
    display_name = serializers.CharField()
    role = serializers.ChoiceField(choices=Role.choices)
    is_claimed = serializers.BooleanField(help_text="Whether somebody signs in as them.")
    joined_at = Time()
    withheld = serializers.ListField(
        child=serializers.ChoiceField(choices=CoachRight.choices),
        help_text="Rights an owner keeps back from a coach.",
    )


class MemberIn(serializers.Serializer[Any]):
    display_name = serializers.CharField(max_length=NAME_LENGTH)


class RoleIn(serializers.Serializer[Any]):
    """Role, or rights kept back of a coach; what is left out stays."""

    role = serializers.ChoiceField(choices=Role.choices, required=False)
    withheld = serializers.ListField(
        child=serializers.ChoiceField(choices=CoachRight.choices),
        required=False,
        help_text="What an owner keeps back from a coach, whole.",
    )


class InvitationShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    role = serializers.ChoiceField(choices=Role.choices)
    member = serializers.IntegerField(
        source="membership_id", allow_null=True, help_text="The entry its holder takes over."
    )
    uses = serializers.IntegerField()
    max_uses = serializers.IntegerField()
    expires_at = Time()


class NewInvitationShape(InvitationShape):
    """A link just made. Its address is told in this answer and never again."""

    address = serializers.URLField()


class InvitationIn(serializers.Serializer[Any]):
    role = serializers.ChoiceField(choices=Role.choices, default=Role.MEMBER)
    member = Number(required=False, allow_null=True, help_text="An entry without an account.")
    max_uses = serializers.IntegerField(min_value=1, max_value=MOST_USES, default=1)
    days = serializers.IntegerField(min_value=1, max_value=LONGEST_DAYS, default=INVITATION_DAYS)


class TokenShape(serializers.Serializer[Any]):
    """A device's token; ``id`` is its first letters, which open nothing."""

    id = serializers.CharField(source="token_key")
    created_at = Time(source="created")
    expires_at = Time(source="expiry", allow_null=True)


class NewTokenShape(TokenShape):
    """A token just made. It is told in this answer and never again."""

    token = serializers.CharField()
