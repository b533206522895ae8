"""Writing a note on a member, and striking one out."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from members import audit
from members.models import Membership
from scoring import access
from scoring.models import MemberNote, NoteStrike
from scoring.problems import refuse, storable

MAX_WORDS = 2000
MAX_WHY = 500
SENT_TWICE = timedelta(minutes=10)
"""The same words from the same coach within this time are one note: a button pressed twice."""


def add_note(*, member: Membership, by: Membership, words: str, now: datetime) -> MemberNote:
    """Write down something about a member, for the gym's coaches to read.

    Raises ``Refused`` for somebody who may not, no words, or too many.
    """
    with transaction.atomic():
        found = Membership.objects.select_for_update(of=("self",)).get(pk=member.pk)
        if not access.may_see_notes(by, found) or found.left_at is not None:
            raise refuse("", "Notes are for coaches, on members here now.", kind="forbidden")
        kept = _tidy(words)
        if not kept or len(kept) > MAX_WORDS or not storable(kept):
            raise refuse("words", "A note needs some words.", f"Write up to {MAX_WORDS} letters.")
        sent = MemberNote.objects.filter(
            member=found, written_by=by, words=kept, strike=None, written_at__gt=now - SENT_TWICE
        ).first()
        if sent is not None:
            return sent
        note: MemberNote = MemberNote.objects.create(
            member=found, words=kept, written_by=by, written_at=now
        )
        # That it was written, never what: an audit is read by more people than a note.
        audit.record(
            gym=by.gym, by=by, what="write-note", member=found,
            subject_key=f"note {note.pk}", now=now,
        )  # fmt: skip
    return note


def strike_note(*, note: MemberNote, by: Membership, why: str, now: datetime) -> NoteStrike:
    """Strike a note out: it stays readable as struck, with who did it and why.

    Any coach of the gym may. Raises ``Refused`` for somebody who may not, for no reason
    given, and for a note that is struck already.
    """
    with transaction.atomic():
        found = MemberNote.objects.select_for_update(of=("self",)).select_related("member")
        row: MemberNote = found.get(pk=note.pk)
        if not access.may_see_notes(by, row.member):
            raise refuse("", "Only a coach of this gym can strike a note out.", kind="forbidden")
        reason = " ".join(why.split())
        if not reason or len(reason) > MAX_WHY or not storable(reason):
            raise refuse("why", "Say why it is struck out.", f"Write up to {MAX_WHY} letters.")
        if NoteStrike.objects.filter(note=row).exists():
            raise refuse("", "This note is struck out already.", kind="conflict")
        strike: NoteStrike = NoteStrike.objects.create(
            note=row, struck_by=by, struck_at=now, why=reason
        )
        audit.record(
            gym=by.gym, by=by, what="strike-note", member=row.member,
            subject_key=f"note {row.pk}", now=now,
        )  # fmt: skip
    return strike


def _tidy(words: str) -> str:
    """Lines stay, space around them goes."""
    lines = [" ".join(line.split()) for line in words.strip().splitlines()]
    return "\n".join(lines)
