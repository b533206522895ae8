"""Results as facts: what members reported, and every correction of it."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from .classes import StreamedClass
from .immutable import Immutable


class Result(models.Model):
    """That a member has a result in a class; what it is stands in its facts."""

    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.PROTECT, related_name="results"
    )
    member = models.ForeignKey(
        "members.Membership", on_delete=models.PROTECT, related_name="results"
    )
    current = models.ForeignKey("Fact", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("streamed_class", "member"), name="result_once_a_class"
            ),
        ]

    def __str__(self) -> str:
        return f"result {self.pk}"


class Fact(Immutable):
    """What was reported, when and by whom. A correction is the next fact.

    ``mark``, ``options`` and ``splits`` are canonical texts that the core reads back to
    the same values; ``unbroken`` are the longest unbroken sets by line (``1.1 18; 2.1 10``),
    where noted; ``is_withdrawn`` says the result no longer counts.
    """

    result = models.ForeignKey(Result, on_delete=models.PROTECT, related_name="facts")
    number = models.PositiveIntegerField()
    mark = models.CharField(max_length=200)
    options = models.TextField(blank=True)
    splits = models.TextField(blank=True)
    unbroken = models.TextField(blank=True, default="")
    note = models.TextField(blank=True, max_length=2000)
    effort = models.PositiveSmallIntegerField(null=True, blank=True)
    entered_by = models.ForeignKey("members.Membership", on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=500, blank=True)
    is_withdrawn = models.BooleanField(default=False)
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("number",)
        constraints = [
            models.UniqueConstraint(fields=("result", "number"), name="fact_number_once"),
            models.CheckConstraint(
                condition=Q(effort__isnull=True) | Q(effort__lte=10), name="fact_effort"
            ),
        ]

    def __str__(self) -> str:
        return self.mark


class Submission(Immutable):
    """A key under which something was sent, so that sending it again changes nothing."""

    streamed_class = models.ForeignKey(StreamedClass, on_delete=models.PROTECT, related_name="+")
    member = models.ForeignKey("members.Membership", on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=255)
    digest = models.CharField(max_length=64)
    fact = models.ForeignKey(Fact, on_delete=models.PROTECT, related_name="submissions")
    is_new_result = models.BooleanField()
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("streamed_class", "member", "key"), name="submission_key_once"
            ),
        ]

    def __str__(self) -> str:
        return self.key
