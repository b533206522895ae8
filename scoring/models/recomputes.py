"""The ledger of recomputes: how far each got, so that one that died goes on."""

from django.db import models
from django.utils import timezone

from .classes import StreamedClass
from .credits import CreditTableVersion


class RecomputeRun(models.Model):
    """A recompute of one class's board, whole; ``cursor`` is the last result done."""

    streamed_class = models.ForeignKey(StreamedClass, on_delete=models.CASCADE, related_name="runs")
    rules_version = models.PositiveIntegerField()
    credit_table = models.ForeignKey(CreditTableVersion, on_delete=models.PROTECT, related_name="+")
    cursor = models.BigIntegerField(default=0)
    done = models.PositiveIntegerField(default=0)
    moved = models.PositiveIntegerField(default=0)
    started_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-started_at", "-pk")
        constraints = [
            models.UniqueConstraint(
                fields=("streamed_class",),
                condition=models.Q(finished_at__isnull=True),
                name="recompute_one_at_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"recompute {self.pk}"
