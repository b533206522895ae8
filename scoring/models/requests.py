"""Members asking their coach for a change after a class is closed."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from .classes import StreamedClass


class ChangeRequest(models.Model):
    """What a member says their result should be, and what the coach answered."""

    class Answer(models.TextChoices):
        WAITING = "waiting", "waiting for the coach"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"

    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.CASCADE, related_name="change_requests"
    )
    member = models.ForeignKey(
        "members.Membership", on_delete=models.CASCADE, related_name="change_requests"
    )
    mark = models.CharField(max_length=200)
    options = models.TextField(blank=True)
    splits = models.TextField(blank=True)
    words = models.CharField(max_length=500)
    asked_at = models.DateTimeField(default=timezone.now)
    answer = models.CharField(max_length=8, choices=Answer, default=Answer.WAITING)
    answer_words = models.CharField(max_length=500, blank=True)
    answered_by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-asked_at", "-pk")
        constraints = [
            models.UniqueConstraint(
                fields=("streamed_class", "member"),
                condition=Q(answer="waiting"),
                name="request_one_waiting",
            ),
            models.CheckConstraint(
                condition=Q(answer__in=("waiting", "accepted", "declined")), name="request_answer"
            ),
            models.CheckConstraint(
                condition=Q(answer="waiting") | Q(answered_at__isnull=False),
                name="request_answered_at",
            ),
        ]

    def __str__(self) -> str:
        return f"request {self.pk}"
