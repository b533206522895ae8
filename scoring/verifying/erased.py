"""Who was erased: nothing of theirs is left where it should not be.

An erased member stays as a membership without account and name whose times of joining and
leaving are the moment of erasing (``services/erasing.py``). What came after it, such as a
coach's correction of a result that stayed, is not theirs.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import F, QuerySet

from members.models import AuditEntry, Membership
from scoring.models import EstimateSnapshot, Fact, Result, Submission
from scoring.snapshots import read_keys

from .finding import Finding, Looked
from .scope import Scope

NOBODY = "somebody"
ERASED_REASON = "erased with its member"
REMEDY = "delete what is told here; erasing left it behind"


def erased_members() -> QuerySet[Membership]:
    return Membership.objects.filter(user=None, display_name=NOBODY, joined_at=F("left_at"))


def erased(scope: Scope, looked: Looked) -> Iterator[Finding]:
    if not scope.is_whole:
        return
    for member in erased_members().order_by("pk").iterator(chunk_size=1000):
        looked.counts["erased members"] += 1
        assert member.left_at is not None  # it is the same as joined_at
        for kind, count in _left(member, member.left_at):
            if count:
                yield Finding("erased-but-there", f"member {member.pk}", f"{count} {kind}", REMEDY)


def _left(member: Membership, then: datetime) -> Iterator[tuple[str, int]]:
    for relation in Membership._meta.get_fields(include_hidden=True):
        if getattr(relation, "on_delete", None) is models.CASCADE and relation.auto_created:
            model: Any = relation.related_model
            own = model.objects.filter(**{relation.field.name: member})  # type: ignore[union-attr]
            yield f"rows of {model._meta.verbose_name_plural}", own.count()
    yield "keys of submissions", Submission.objects.filter(member=member).count()
    entries = AuditEntry.objects.filter(member=member, at__lte=then)
    told = Fact.objects.filter(result__member=member, created_at__lte=then)
    yield "notes of results", told.exclude(note="").count()
    yield "efforts of results", told.exclude(effort=None).count()
    yield "reasons of corrections", told.exclude(reason__in=("", ERASED_REASON)).count()
    yield "entries of the audit trail", entries.count()
    if Result.objects.filter(member=member).exists():
        yield "estimates of before that tell their level", _levels(member, then)


def _levels(member: Membership, then: datetime) -> int:
    rows = EstimateSnapshot.objects.filter(gym=member.gym_id, made_at__lte=then)
    keys = rows.values_list("members", flat=True).iterator(chunk_size=1)
    return sum(member.pk in read_keys(data) for data in keys)
