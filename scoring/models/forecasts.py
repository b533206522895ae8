"""Forecasts as they were before anybody logged, kept to be held against what happened."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from .classes import StreamedClass
from .estimates import EstimateSnapshot
from .immutable import Immutable

ENSEMBLE = 40
"""So many evenly spread draws are kept of each member's place."""


class ForecastRecord(Immutable):
    """What was expected of a class; never changed, at most followed by a newer one.

    ``snapshot`` is the estimate it came from, ``None`` where there was none yet
    (``is_prior``) or it is cleared away; ``results``, ``members`` and ``until`` say what that
    had learned from. ``gates`` is a list of ``[block, share, low, high]`` for the group that
    usually comes, of ``count`` members; ``halfway`` the low, middle and high place of its
    half. Places of members are counted as ``core.estimation.beyond`` has it, with ``fade``,
    so that finishing times tell members apart. ``naive`` is the place that anybody would have
    been given without an estimate: the middle of ``naive_results`` earlier results of the
    same workout, or the reference pace's where that is 0.
    """

    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.CASCADE, related_name="forecasts"
    )
    snapshot = models.ForeignKey(
        EstimateSnapshot, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    is_prior = models.BooleanField()
    results = models.PositiveIntegerField()
    members = models.PositiveIntegerField()
    until = models.DateTimeField(null=True)
    made_at = models.DateTimeField(default=timezone.now)
    cap = models.PositiveIntegerField()
    count = models.PositiveIntegerField()
    gates = models.JSONField()
    halfway = models.JSONField()
    fade = models.FloatField()
    naive = models.PositiveIntegerField()
    naive_results = models.PositiveIntegerField()

    class Meta:
        ordering = ("-pk",)
        constraints = [
            models.CheckConstraint(condition=Q(cap__gt=0), name="forecast_cap"),
        ]

    def __str__(self) -> str:
        return f"forecast {self.pk}"


class ForecastLine(Immutable):
    """One member's part of a forecast, in raw reps: draws of their place, spread evenly and
    rising, and their low, quarter, middle, three-quarters and high place.

    ``past`` is the chance to get past each gate. ``is_usual`` says that they were of the group
    that usually comes, ``is_known`` that the estimate had results of them.
    """

    record = models.ForeignKey(ForecastRecord, on_delete=models.CASCADE, related_name="lines")
    member = models.ForeignKey("members.Membership", on_delete=models.CASCADE, related_name="+")
    ensemble = models.JSONField()
    low = models.PositiveIntegerField()
    quarter = models.PositiveIntegerField()
    middle = models.PositiveIntegerField()
    three_quarters = models.PositiveIntegerField()
    high = models.PositiveIntegerField()
    past = models.JSONField()
    is_usual = models.BooleanField()
    is_known = models.BooleanField()

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("record", "member"), name="forecast_line_once"),
            models.CheckConstraint(
                condition=Q(low__lte=models.F("quarter"))
                & Q(quarter__lte=models.F("middle"))
                & Q(middle__lte=models.F("three_quarters"))
                & Q(three_quarters__lte=models.F("high")),
                name="forecast_line_rising",
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.pk}"
