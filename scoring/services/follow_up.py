"""What a coach does about a reason: done, later, never, taken back, and a letter."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from members import audit
from members.models import Membership
from scoring import access
from scoring.core.follow_up import Reason
from scoring.core.follow_up_words import FIELDS, MAX_WORDS
from scoring.models import FollowUp, FollowUpLetter
from scoring.problems import refuse, storable

LATEST = timedelta(days=366)
State = FollowUp.State
_FIELD = re.compile(r"\{(" + "|".join(FIELDS) + r")\}")


def read_reason(text: str) -> Reason:
    """The reason of a name. Raises ``Refused``."""
    if text not in list(Reason):
        raise refuse("reason", f"“{text[:40]}” is no reason here.", f"One of {', '.join(Reason)}.")
    return Reason(text)


def _locked(member: Membership, by: Membership) -> Membership:
    """The member's row, held, so that two coaches decide one after the other."""
    row = Membership.objects.select_for_update(of=("self",)).select_related("gym").get(pk=member.pk)
    if not access.may_manage_gym(by) or by.gym_id != row.gym_id or row.left_at is not None:
        raise refuse("", "Only a coach of their gym follows up a member.", kind="forbidden")
    return row


def _newest(member: Membership, reason: Reason, occasion: str) -> FollowUp | None:
    rows = FollowUp.objects.filter(member=member, reason=reason, occasion=occasion)
    found: FollowUp | None = rows.select_related("letter__message").order_by("-pk").first()
    return found


def _decide(
    *,
    member: Membership,
    by: Membership,
    reason: Reason,
    occasion: str,
    state: str,
    now: datetime,
    until: date | None = None,
    letter: FollowUpLetter | None = None,
) -> FollowUp:
    before = _newest(member, reason, occasion)
    # A second press of the same button changes nothing more.
    is_same = before is not None and (before.state, before.until) == (state, until)
    if before is not None and is_same and letter is None and not before.is_lost:
        return before
    row = FollowUp(
        member=member, reason=reason, occasion=occasion, state=state, until=until,
        letter=letter, by=by, at=now,
    )  # fmt: skip
    row.save()
    details: dict[str, object] = {"reason": reason.value, "occasion": occasion}
    if until is not None:
        details["until"] = until.isoformat()
    audit.record(
        gym=member.gym,
        by=by,
        what="send-follow-up" if letter else f"follow-up-{state}",
        now=now,
        member=member,
        subject=f"follow-up: {reason.label}",
        details=details,
    )
    return row


@transaction.atomic
def mark_done(
    *, member: Membership, by: Membership, reason: Reason, occasion: str, now: datetime
) -> FollowUp:
    """A reason was seen to on this occasion; a new one is told again."""
    member = _locked(member, by)
    return _decide(
        member=member, by=by, reason=reason, occasion=occasion, state=State.DONE, now=now
    )


@transaction.atomic
def put_off(
    *,
    member: Membership,
    by: Membership,
    reason: Reason,
    occasion: str,
    until: date | None,
    now: datetime,
) -> FollowUp:
    """Hide a reason until a day, from which on it is on the list again.

    Raises ``Refused`` for no day, one that is not to come, or one over a year away.
    """
    member = _locked(member, by)
    today = now.astimezone(ZoneInfo(member.gym.timezone)).date()
    if until is None or until <= today or until > today + LATEST:
        raise refuse("until", "Until when is missing, past, or over a year away.", "Tomorrow on.")
    return _decide(
        member=member, by=by, reason=reason, occasion=occasion, state=State.LATER,
        until=until, now=now,
    )  # fmt: skip


@transaction.atomic
def hide_for_good(*, member: Membership, by: Membership, reason: Reason, now: datetime) -> FollowUp:
    """Never tell of this reason for this member again, until it is taken back.

    Raises ``Refused`` for a pain: a new one is always told.
    """
    member = _locked(member, by)
    if reason is Reason.PAIN:
        raise refuse("reason", "A new pain is always told.", "Mark this one as done.")
    return _decide(member=member, by=by, reason=reason, occasion="", state=State.NEVER, now=now)


@transaction.atomic
def take_back(*, row: FollowUp, by: Membership, now: datetime) -> FollowUp:
    """Undo what was decided about an occasion: its reason is open again, if it still stands.

    Raises ``Refused`` where something else was decided meanwhile. A letter that was sent
    stays sent; one that waits still is.
    """
    member = _locked(row.member, by)
    reason = Reason(row.reason)
    newest = _newest(member, reason, row.occasion)
    if newest is None or newest.pk != row.pk:
        if newest is not None and newest.state == State.OPEN:
            return newest
        raise refuse("", "It was decided otherwise meanwhile.", "Reload the page.", "conflict")
    return _decide(
        member=member, by=by, reason=reason, occasion=row.occasion, state=State.OPEN, now=now
    )


def tidy_words(text: str) -> str:
    """A letter's words as they are kept. Raises ``Refused``."""
    text = "\n".join(line.rstrip() for line in text.replace("\r\n", "\n").split("\n")).strip()
    if not text:
        raise refuse("words", "There is nothing to send.", "Write a word to them.")
    if len(text) > MAX_WORDS or not storable(text):
        raise refuse("words", "That can't be sent.", f"At most {MAX_WORDS} letters.")
    if left := _FIELD.search(text):
        raise refuse(
            "words", f"“{left[0]}” is not filled in.", "Write it yourself, or take it out."
        )
    return text


@dataclass(frozen=True, slots=True)
class Written:
    """A letter, and whether this call wrote it: sent twice from one form it is one."""

    letter: FollowUpLetter
    is_new: bool


@transaction.atomic
def write_letter(
    *,
    member: Membership,
    by: Membership,
    reason: Reason,
    occasion: str,
    words: str,
    key: str,
    now: datetime,
) -> Written:
    """Keep words until they are sent, and mark their reason as done.

    ``key`` is the form's. Raises ``Refused`` for words that can't be sent, and where another
    coach wrote about the same meanwhile.
    """
    member = _locked(member, by)
    if not key or len(key) > 64 or not storable(key):
        raise refuse("key", "The form has no key of its own.", "Reload the page.")
    before = FollowUpLetter.objects.filter(member=member, key=key).first()
    if before is not None:
        return Written(before, is_new=False)
    words = tidy_words(words)
    newest = _newest(member, reason, occasion)
    if newest is not None and newest.state == State.DONE and newest.letter and not newest.is_lost:
        raise refuse("", "A coach wrote to them about this already.", kind="conflict")
    letter = FollowUpLetter.objects.create(
        member=member, reason=reason, occasion=occasion, words=words, key=key, by=by, asked_at=now
    )
    _decide(
        member=member, by=by, reason=reason, occasion=occasion, state=State.DONE,
        letter=letter, now=now,
    )  # fmt: skip
    return Written(letter, is_new=True)
