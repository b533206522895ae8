"""The words of a gym and of its coaches for each reason, and when silence is told of."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from members import audit
from members.models import Gym, Membership
from scoring import access
from scoring.core.follow_up import SILENT_AT_LEAST, SILENT_AT_MOST, Reason
from scoring.core.follow_up_words import known_fields, problem_of
from scoring.models import FollowUpSettings, FollowUpWords
from scoring.problems import refuse, storable


def _demand_coach(by: Membership) -> None:
    if not access.may_manage_gym(by):
        raise refuse("", "Only a coach of the gym changes its words.", kind="forbidden")


@transaction.atomic
def save_words(
    *, by: Membership, reason: Reason, text: str, for_gym: bool, now: datetime
) -> FollowUpWords:
    """Keep words for a reason: a coach's own, or the gym's for all who have none.

    Raises ``Refused`` for a field that can't be filled in, with the list of those that can.
    """
    _demand_coach(by)
    text = text.replace("\r\n", "\n").strip()
    said = problem_of(text, reason) or ("" if storable(text) else "That can't be kept.")
    if said:
        raise refuse("text", said, f"Fields here: {known_fields(reason)}.")
    row, _ = FollowUpWords.objects.update_or_create(
        gym=by.gym,
        coach=None if for_gym else by,
        reason=reason,
        defaults={"text": text, "saved_at": now},
    )
    _record(by, "save-words", reason, for_gym=for_gym, now=now)
    return row


@transaction.atomic
def restore_words(*, by: Membership, reason: Reason, for_gym: bool, now: datetime) -> bool:
    """Drop own or the gym's words, so that those below them are used; whether any were."""
    _demand_coach(by)
    found = FollowUpWords.objects.filter(gym=by.gym, reason=reason)
    found = found.filter(coach__isnull=True) if for_gym else found.filter(coach=by)
    if not found.delete()[0]:
        return False
    _record(by, "restore-words", reason, for_gym=for_gym, now=now)
    return True


def _record(by: Membership, what: str, reason: Reason, *, for_gym: bool, now: datetime) -> None:
    audit.record(
        gym=by.gym,
        by=by,
        what=what,
        now=now,
        subject=f"follow-up words: {reason.label}",
        details={"whose": "the gym's" if for_gym else "their own"},
    )


@transaction.atomic
def save_silent_days(*, by: Membership, days: int | None, now: datetime) -> FollowUpSettings:
    """After how many days without a result the gym's members are listed. Raises ``Refused``."""
    _demand_coach(by)
    if days is None or not SILENT_AT_LEAST <= days <= SILENT_AT_MOST:
        said = f"From {SILENT_AT_LEAST} to {SILENT_AT_MOST} days."
        raise refuse("silent_days", "That is no number of days here.", said)
    gym = Gym.objects.select_for_update().get(pk=by.gym_id)
    row, _ = FollowUpSettings.objects.get_or_create(gym=gym)
    before, row.silent_days = row.silent_days, days
    row.save()
    if before != days:
        audit.record(
            gym=gym,
            by=by,
            what="set-silent-days",
            now=now,
            subject="follow-up",
            details={"from": before, "to": days},
        )
    return row
