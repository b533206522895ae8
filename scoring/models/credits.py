"""A gym's credit table, version by version."""

from django.db import models
from django.utils import timezone

from .immutable import Immutable


class CreditTableVersion(Immutable):
    """One version of a gym's credits; a change makes the next one."""

    gym = models.ForeignKey("members.Gym", on_delete=models.PROTECT, related_name="credit_tables")
    version = models.PositiveIntegerField()
    rules = models.JSONField(help_text="What scoring.core.credits.CreditTable.to_dict wrote.")
    reason = models.CharField(max_length=200)
    created_by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("-version",)
        constraints = [
            models.UniqueConstraint(fields=("gym", "version"), name="credit_version_once"),
        ]

    def __str__(self) -> str:
        return f"credits {self.version}"
