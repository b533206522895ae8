"""What hangs together belongs together: one gym, one member, one class."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import F, Q

from scoring.models import Fact, Result, StreamedClass, Submission

from .finding import Finding, Looked
from .scope import Scope

BY_HAND = "somebody changed a row by hand: bring it back from a backup"


def belonging(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """Nothing of a class is another gym's."""
    classes = StreamedClass.objects.filter(scope.within("pk")).exclude(
        workout__gym=F("gym"), coach__gym=F("gym"), credit_table__gym=F("gym")
    )
    for pk in classes.order_by("pk").values_list("pk", flat=True).iterator():
        yield Finding(
            "class-of-two-gyms", f"class {pk}",
            "its workout, coach or credit table is another gym's", BY_HAND,
        )  # fmt: skip
    results = Result.objects.filter(scope.within("streamed_class")).exclude(
        member__gym=F("streamed_class__gym")
    )
    for pk, klass in results.order_by("pk").values_list("pk", "streamed_class").iterator():
        yield Finding(
            "result-of-another-gym", f"result {pk} in class {klass}",
            "its member is of another gym", BY_HAND,
        )  # fmt: skip
    facts = Fact.objects.filter(scope.within("result__streamed_class")).exclude(
        entered_by__gym=F("result__streamed_class__gym")
    )
    for pk, result in facts.order_by("pk").values_list("pk", "result").iterator():
        yield Finding(
            "fact-by-another-gym", f"fact {pk} of result {result}",
            "whoever entered it is of another gym", BY_HAND,
        )  # fmt: skip


def submissions(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """A key under which something was sent answers with what was sent under it."""
    own = Submission.objects.filter(scope.within("streamed_class"))
    looked.counts["keys of submissions"] += own.count()
    wrong = own.exclude(
        Q(fact__result__streamed_class=F("streamed_class")) & Q(fact__result__member=F("member"))
    )
    for pk, fact in wrong.order_by("pk").values_list("pk", "fact").iterator():
        yield Finding(
            "key-of-another-result", f"submission {pk}",
            f"its fact {fact} is of another class or member", BY_HAND,
        )  # fmt: skip
