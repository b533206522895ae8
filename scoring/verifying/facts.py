"""Facts append: numbered from 1 without a gap, and the last is the one that counts."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Count, Exists, F, Max, Min, OuterRef, Q

from scoring.models import Fact, Result

from .finding import Finding, Looked
from .scope import Scope

LOST = "nothing derives a fact: bring it back from a backup, or withdraw the result"


def facts(scope: Scope, looked: Looked) -> Iterator[Finding]:
    own = Fact.objects.filter(scope.within("result__streamed_class"))
    looked.counts["facts"] += own.count()
    gaps = (
        own.order_by("result")
        .values("result")
        .annotate(count=Count("pk"), first=Min("number"), last=Max("number"))
        .filter(~Q(first=1) | ~Q(last=F("count")))
    )
    for row in gaps.iterator():
        yield Finding(
            "fact-numbers",
            f"result {row['result']}",
            f"{row['count']} facts are numbered {row['first']} to {row['last']}",
            LOST,
        )
    results = Result.objects.filter(scope.within("streamed_class")).order_by("pk")
    for pk in results.filter(current=None).values_list("pk", flat=True).iterator():
        yield Finding("fact-missing", f"result {pk}", "it has no current fact", LOST)
    later = Fact.objects.filter(result=OuterRef("pk"), number__gt=OuterRef("current__number"))
    wrong = results.filter(~Q(current__result=F("pk")) | Exists(later)).exclude(current=None)
    for pk, current in wrong.values_list("pk", "current").iterator():
        yield Finding(
            "fact-not-current",
            f"result {pk}",
            f"fact {current} counts, and it is not the last one of this result",
            "correct the result: the correction becomes its last fact and counts",
        )
