"""Notes that coaches keep on a member, and their striking out."""

from django.db import models
from django.utils import timezone

from .immutable import Immutable


class MemberNote(Immutable):
    """What a coach wrote down about a member, for the gym's coaches.

    Never changed: what was wrong is struck out and stays readable as struck. It stands in the
    member's own copy of their data and goes with them.
    """

    member = models.ForeignKey(
        "members.Membership", on_delete=models.CASCADE, related_name="coach_notes"
    )
    words = models.TextField(max_length=2000)
    written_by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    written_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("-written_at", "-pk")
        indexes = [models.Index(fields=("member", "-written_at"), name="note_member_written")]
        constraints = [
            models.CheckConstraint(condition=~models.Q(words=""), name="note_has_words"),
        ]

    def __str__(self) -> str:
        # Not the words, so that no list or log shows them by accident.
        return f"note {self.pk}"


class NoteStrike(Immutable):
    """That a note was struck out, by whom and when. Once; there is no way back but a new
    note."""

    note = models.OneToOneField(MemberNote, on_delete=models.CASCADE, related_name="strike")
    struck_by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    struck_at = models.DateTimeField(default=timezone.now)
    why = models.CharField(max_length=500)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(why=""), name="strike_says_why"),
        ]

    def __str__(self) -> str:
        return f"strike of note {self.note_id}"
