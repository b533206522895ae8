"""Everything that changes who belongs where.

A coach adds people and invites members. Only an owner makes coaches and owners,
by role or by invitation, and a gym always keeps one owner who can sign in.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.timezone import now as clock_now

from members import zones
from members.audit import record
from members.models import (
    CalendarFeed,
    CoachRight,
    Gym,
    Invitation,
    Membership,
    Role,
    ShownAs,
    User,
)
from members.problems import Refused
from members.selectors import SPENT, spent
from members.tokens import hash_token, new_token

NAME_LENGTH = 60
INVITATION_DAYS = 14
LONGEST_DAYS = 90
MOST_USES = 200


@dataclass(frozen=True, slots=True)
class Invited:
    """A new invitation with its token, which is known only now."""

    invitation: Invitation
    token: str


def clean_name(text: str) -> str:
    """A name as it is kept: one line, single spaces, nothing invisible."""
    name = " ".join(unicodedata.normalize("NFC", text).split())
    # Cc, Cf, Cs: control and format characters, halves of pairs. They could
    # turn the text of a board around, or not be stored at all.
    if any(unicodedata.category(sign) in ("Cc", "Cf", "Cs") for sign in name):
        raise Refused("display_name", "The name has signs in it that can't be seen.", "Type it.")
    if not name:
        raise Refused("display_name", "A name is needed.", "Write what the gym calls them.")
    if len(name) > NAME_LENGTH:
        raise Refused(
            "display_name",
            f"The name has {len(name)} signs; {NAME_LENGTH} fit.",
            "Write a shorter one.",
        )
    return name


def create_gym(
    *, name: str, slug: str, owner: User, owner_name: str, timezone: str = "UTC"
) -> Membership:
    """Make a gym and its first owner, whose membership is returned."""
    gym = Gym(name=clean_name(name), slug=slug, timezone=timezone)
    gym.full_clean()
    with transaction.atomic():
        gym.save()
        made = Membership.objects.create(
            gym=gym, user=owner, display_name=clean_name(owner_name), role=Role.OWNER
        )
        record(gym=gym, by=made, what="make-gym", now=gym.created_at)
        return made


def add_member(*, by: Membership, display_name: str, now: datetime) -> Membership:
    """Enter somebody without an account, who may claim the entry later."""
    _must_keep_members(by)
    with transaction.atomic():
        made = Membership.objects.create(
            gym=by.gym,
            display_name=clean_name(display_name),
            shown_as=by.gym.shown_as_default,
            joined_at=now,
        )
        record(gym=by.gym, by=by, what="add-member", member=made, now=now)
    return made


def invite(
    *,
    by: Membership,
    now: datetime,
    role: str = Role.MEMBER,
    membership: Membership | None = None,
    max_uses: int = 1,
    days: int = INVITATION_DAYS,
) -> Invited:
    """Make a link. With ``membership`` its holder takes that entry over, once."""
    _must_keep_members(by)
    if membership is not None:
        if membership.gym_id != by.gym_id:
            raise Refused("member", "That entry belongs to another gym.", kind="forbidden")
        if membership.is_claimed or membership.left_at is not None:
            raise Refused("member", "That entry is not there to be claimed.", kind="conflict")
        role, max_uses = membership.role, 1
    if role not in Role.values:
        raise Refused("role", f"“{role}” is no role.", "Choose member, coach or owner.")
    if role != Role.MEMBER:
        _must_own(by, "Only an owner invites coaches and owners.")
    if not 1 <= max_uses <= MOST_USES:
        raise Refused("max_uses", f"A link is for 1 to {MOST_USES} people.", "Write a number.")
    if not 1 <= days <= LONGEST_DAYS:
        raise Refused("days", f"A link lasts 1 to {LONGEST_DAYS} days.", "Write a number.")
    token = new_token()
    with transaction.atomic():
        invitation = Invitation.objects.create(
            gym=by.gym,
            token_hash=hash_token(token),
            role=role,
            membership=membership,
            expires_at=now + timedelta(days=days),
            max_uses=max_uses,
            created_by=by,
            created_at=now,
        )
        record(
            gym=by.gym,
            by=by,
            what="make-invitation",
            member=membership,
            subject_key=f"invitation {invitation.pk}",
            details={"role": role, "people": max_uses, "days": days},
            now=now,
        )
    return Invited(invitation, token)


def accept_invitation(*, token: str, user: User, display_name: str, now: datetime) -> Membership:
    """Let somebody in. Who is in already stays as they are and uses nothing up."""
    with transaction.atomic():
        # The row's lock makes two holders of a last use come one after the other.
        invitation = (
            Invitation.objects.select_for_update(of=("self",))
            .select_related("gym")
            .filter(token_hash=hash_token(token))
            .first()
        )
        if invitation is None:
            raise Refused("token", SPENT["unknown"], kind="gone")
        own = Membership.objects.filter(gym=invitation.gym, user=user).first()
        if own is not None and own.left_at is None and invitation.membership_id is None:
            return own
        why = spent(invitation, now=now)
        if why:
            raise Refused("token", SPENT[why], kind="gone")
        name = clean_name(display_name)
        if invitation.membership_id is not None:
            joined = _claim(invitation, user=user, own=own, name=name)
        elif own is not None:
            own.left_at, own.role, own.display_name = None, invitation.role, name
            own.save(update_fields=["left_at", "role", "display_name"])
            joined = own
        else:
            joined, _ = Membership.objects.get_or_create(
                gym=invitation.gym,
                user=user,
                defaults={
                    "display_name": name,
                    "role": invitation.role,
                    "shown_as": invitation.gym.shown_as_default,
                    "joined_at": now,
                },
            )
        invitation.uses += 1
        invitation.save(update_fields=["uses"])
        record(
            gym=invitation.gym,
            by=joined,
            what="join-by-invitation",
            member=joined,
            subject_key=f"invitation {invitation.pk}",
            details={"role": joined.role},
            now=now,
        )
        return joined


def _claim(invitation: Invitation, *, user: User, own: Membership | None, name: str) -> Membership:
    entry = Membership.objects.select_for_update().get(claims=invitation)
    if own is not None:
        raise Refused(
            "token",
            f"You are in this gym already, as {own.display_name}.",
            "Ask your coach about the results in the other entry.",
            kind="conflict",
        )
    if entry.is_claimed or entry.left_at is not None:
        raise Refused("token", SPENT["used"], kind="gone")
    entry.user, entry.display_name = user, name
    entry.save(update_fields=["user", "display_name"])
    return entry


def change_role(
    *, membership: Membership, by: Membership, role: str, now: datetime | None = None
) -> Membership:
    """Make somebody member, coach or owner. The last owner stays one.

    Who is made a coach has every right of one; see ``withhold_rights``.
    """
    if role not in Role.values:
        raise Refused("role", f"“{role}” is no role.", "Choose member, coach or owner.")
    if membership.gym_id != by.gym_id:
        raise Refused("member", "That member belongs to another gym.", kind="forbidden")
    with transaction.atomic():
        # Two owners who each step down at once must not both find the other there.
        Gym.objects.select_for_update().get(pk=by.gym_id)
        _must_own(Membership.objects.get(pk=by.pk), "Only an owner changes roles.")
        row = Membership.objects.get(pk=membership.pk)
        if row.is_owner and role != Role.OWNER and not _other_owners(row):
            raise Refused(
                "role",
                "A gym needs an owner who can sign in.",
                "Make somebody else an owner first.",
                kind="conflict",
            )
        if row.role == role:
            return row
        before, row.role, row.withheld = row.role, role, []
        row.save(update_fields=["role", "withheld"])
        record(
            gym=by.gym,
            by=by,
            what="change-role",
            member=row,
            details={"from": before, "to": role},
            now=now or clock_now(),
        )
        return row


def withhold_rights(
    *, membership: Membership, by: Membership, withheld: Collection[str], now: datetime
) -> Membership:
    """Keep rights back from a coach, as an owner: exactly these, so none gives all back."""
    unknown = sorted(set(withheld) - set(CoachRight.values))
    if unknown:
        raise Refused("withheld", f"“{unknown[0][:40]}” is no right here.", "Tick what is.")
    if membership.gym_id != by.gym_id:
        raise Refused("member", "That member belongs to another gym.", kind="forbidden")
    with transaction.atomic():
        Gym.objects.select_for_update().get(pk=by.gym_id)
        _must_own(Membership.objects.get(pk=by.pk), "Only an owner changes rights.")
        row = Membership.objects.get(pk=membership.pk)
        if row.role != Role.COACH or row.left_at is not None:
            raise Refused(
                "member",
                "Only a coach has rights to keep back.",
                "Owners have them all, members none.",
                kind="conflict",
            )
        before, row.withheld = sorted(row.withheld), sorted(set(withheld))
        if before != row.withheld:
            row.save(update_fields=["withheld"])
            record(
                gym=by.gym,
                by=by,
                what="change-rights",
                member=row,
                details={"kept back before": before, "kept back now": row.withheld},
                now=now,
            )
        return row


def remove_member(*, membership: Membership, by: Membership, now: datetime) -> Membership:
    """Let somebody go. Their results stay; their own links lead nowhere any more.

    An owner is needed for a coach or an owner. Doing it twice keeps the first time.
    """
    if membership.gym_id != by.gym_id:
        raise Refused("member", "That member belongs to another gym.", kind="forbidden")
    with transaction.atomic():
        # As in change_role: two owners must not remove each other at once.
        Gym.objects.select_for_update().get(pk=by.gym_id)
        by = Membership.objects.select_related("gym").get(pk=by.pk)
        _must_keep_members(by)
        row = Membership.objects.get(pk=membership.pk)
        if row.left_at is not None:
            return row
        if row.is_coach:
            _must_own(by, "Only an owner removes coaches and owners.")
        if row.is_owner and not _other_owners(row):
            raise Refused(
                "member",
                "A gym needs an owner who can sign in.",
                "Make somebody else an owner first.",
                kind="conflict",
            )
        row.left_at = now
        row.save(update_fields=["left_at"])
        Invitation.objects.filter(membership=row, revoked_at=None).update(revoked_at=now)
        # Who comes back makes a new one; an old address does not come alive again.
        CalendarFeed.objects.filter(membership=row).delete()
        record(gym=by.gym, by=by, what="remove-member", member=row, now=now)
        return row


def _other_owners(membership: Membership) -> bool:
    return (
        Membership.objects.filter(
            gym=membership.gym, role=Role.OWNER, left_at=None, user__isnull=False
        )
        .exclude(pk=membership.pk)
        .exists()
    )


def revoke(*, invitation: Invitation, by: Membership, now: datetime) -> Invitation:
    """Make a link useless. Doing it twice keeps the first time."""
    _must_keep_members(by)
    if invitation.gym_id != by.gym_id:
        raise Refused("invitation", "That link belongs to another gym.", kind="forbidden")
    if invitation.role != Role.MEMBER:
        _must_own(by, "Only an owner revokes a link for coaches and owners.")
    with transaction.atomic():
        rows = Invitation.objects.filter(pk=invitation.pk, revoked_at=None)
        if rows.update(revoked_at=now):
            record(
                gym=by.gym,
                by=by,
                what="revoke-invitation",
                member=invitation.membership,
                subject_key=f"invitation {invitation.pk}",
                now=now,
            )
    invitation.refresh_from_db()
    return invitation


def change_profile(
    *, membership: Membership, display_name: str, shown_as: str, timezone: str | None = None
) -> Membership:
    """What the gym calls somebody, how the other members see them, and their time zone.

    A blank ``timezone`` is the gym's; ``None`` leaves it as it is.
    """
    if shown_as not in ShownAs.values:
        raise Refused("shown_as", "That is no way to be shown.", "Choose one of the three.")
    # One kept before stays good, whatever it is called.
    if timezone and timezone not in (*zones.names(), membership.timezone):
        raise Refused("timezone", "That is no time zone known here.", "Choose from the list.")
    membership.display_name = clean_name(display_name)
    membership.shown_as = shown_as
    if timezone is not None:
        membership.timezone = timezone
    membership.save(update_fields=["display_name", "shown_as", "timezone"])
    return membership


def _must_keep_members(by: Membership) -> None:
    if not by.is_coach:
        raise Refused("", "Only coaches of the gym do this.", kind="forbidden")
    if not by.may(CoachRight.MEMBERS):
        raise Refused("", "An owner keeps the list of members.", "Ask one.", kind="forbidden")


def _must_own(by: Membership, problem: str) -> None:
    if not by.is_owner:
        raise Refused("role", problem, "Ask an owner of your gym.", kind="forbidden")
