"""Scores: derived from facts, stamped with the rules they used, recomputable."""

from django.db import models
from django.db.models import Q

from .classes import StreamedClass
from .credits import CreditTableVersion
from .facts import Fact, Result


class Score(models.Model):
    """What a result counts. Only services write it.

    Exact figures are texts (``171`` or ``1064/9``). ``key`` and ``tie_key`` are the order,
    see scoring/core/ranking.py. The class is repeated here for the board's index.
    """

    result = models.OneToOneField(Result, on_delete=models.CASCADE, related_name="score")
    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.CASCADE, related_name="scores", db_index=False
    )
    fact = models.ForeignKey(Fact, on_delete=models.PROTECT, related_name="+")
    rules_version = models.PositiveIntegerField()
    # Tables of credits are never deleted, and an index would be written with every recompute.
    credit_table = models.ForeignKey(
        CreditTableVersion, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    raw_reps = models.PositiveIntegerField()
    credited = models.CharField(max_length=60)
    seconds = models.CharField(max_length=30)
    performance = models.CharField(max_length=80)
    key = models.BigIntegerField()
    tie_key = models.BigIntegerField()
    as_prescribed = models.BooleanField()
    adjusted_text = models.CharField(max_length=200)
    adjusted_reps = models.CharField(max_length=80, null=True)  # noqa: DJ001
    adjusted_seconds = models.CharField(max_length=80, null=True)  # noqa: DJ001

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(adjusted_reps__isnull=True, adjusted_seconds__isnull=False)
                | Q(adjusted_reps__isnull=False, adjusted_seconds__isnull=True),
                name="score_one_adjusted",
            ),
            models.CheckConstraint(condition=Q(key__gte=0), name="score_key"),
        ]
        indexes = [
            # All that ranks are counted by, so that no count reads the table.
            models.Index(
                fields=("streamed_class", "-key", "tie_key", "as_prescribed"), name="score_standing"
            ),
        ]

    def __str__(self) -> str:
        return self.adjusted_text
