"""What the site asked a coach about a result, and what was answered."""

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


class QuestionAsked(models.Model):
    """A question that stays until it is answered, though by now it wouldn't be asked.

    Once a class was learned from, its own odd marks make what is expected; a question that a
    coach has seen must not go without a word by that. It holds for this fact only, as an
    answer does.
    """

    fact = models.ForeignKey(Fact, on_delete=models.CASCADE, related_name="questions_asked")
    member = models.ForeignKey("members.Membership", on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20)
    reason = models.TextField()
    asked_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("fact", "kind"), name="question_asked_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of fact {self.fact_id}"
