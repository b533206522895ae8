"""What a coach answered when the site asked whether a result is right."""

from django.db import models
from django.utils import timezone

from .facts import Fact


class QuestionAnswer(models.Model):
    """That somebody looked at a fact and found it right, so it isn't asked again.

    It holds for this fact only: a correction is a new fact, and may be asked about anew.
    ``kind`` is one of scoring/core/oddities.py. The member stands here as well, so that what
    was said of them goes with them.
    """

    fact = models.ForeignKey(Fact, on_delete=models.CASCADE, related_name="question_answers")
    member = models.ForeignKey("members.Membership", on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20)
    answered_by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    answered_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("fact", "kind"), name="question_answered_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of fact {self.fact_id}"
