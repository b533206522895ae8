"""What members asked for about their data: a copy of it, or its end."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone


class DataExport(models.Model):
    """A copy of all that is kept of somebody, asked for and then made.

    The archive is small, so it is kept in the row, until ``expires_at``. Of the token in
    the e-mailed link only a hash is kept. ``site`` is where the site was when asked, since
    whatever makes the archive knows no address.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "being made"
        READY = "ready", "ready"
        EXPIRED = "expired", "run out"

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="data_exports"
    )
    state = models.CharField(max_length=7, choices=State, default=State.WAITING)
    site = models.CharField(max_length=200)
    asked_at = models.DateTimeField(default=timezone.now)
    made_at = models.DateTimeField(null=True, blank=True)
    expires_at = models.DateTimeField(null=True, blank=True)
    token_hash = models.CharField(max_length=64, blank=True)
    archive = models.BinaryField(default=bytes)

    class Meta:
        ordering = ("-asked_at", "-pk")
        constraints = [
            models.UniqueConstraint(
                fields=("user",), condition=Q(state="waiting"), name="export_one_waiting"
            ),
            models.CheckConstraint(
                condition=Q(state__in=("waiting", "ready", "expired")), name="export_state"
            ),
            models.CheckConstraint(
                condition=~Q(state="ready")
                | Q(made_at__isnull=False, expires_at__isnull=False) & ~Q(token_hash=""),
                name="export_ready",
            ),
        ]

    def __str__(self) -> str:
        return f"export {self.pk}"


class Erasure(models.Model):
    """That somebody wants to be erased, when it is due, and what becomes of their results.

    Taken back, the row is gone; carried out, it is gone with the account.
    """

    class Results(models.TextChoices):
        ANONYMOUS = "anonymous", "stay without a name"
        GONE = "gone", "go as well"

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="erasure"
    )
    results = models.CharField(max_length=9, choices=Results)
    asked_at = models.DateTimeField(default=timezone.now)
    due_at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ("due_at", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(results__in=("anonymous", "gone")), name="erasure_results"
            ),
        ]

    def __str__(self) -> str:
        return f"erasure {self.pk}"
