"""What hurt a member: told with a result, seen by themselves and their coaches."""

from django.db import models
from django.utils import timezone

from .classes import StreamedClass


class Pain(models.Model):
    """What somebody said hurts them in a class. It is theirs to take back, so unlike a
    result it can be changed and erased."""

    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.CASCADE, related_name="pains"
    )
    member = models.ForeignKey("members.Membership", on_delete=models.CASCADE, related_name="pains")
    areas = models.JSONField(default=list)
    words = models.CharField(max_length=500, blank=True)
    told_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("streamed_class", "member"), name="pain_once_a_class"),
        ]

    def __str__(self) -> str:
        return f"pain {self.pk}"
