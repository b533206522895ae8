"""What the site asks a coach about results: keeping the questions, and answering them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from members import audit
from members.models import Membership
from scoring import access
from scoring.core.oddities import Kind
from scoring.models import Fact, QuestionAnswer, QuestionAsked, Result, StreamedClass
from scoring.problems import refuse


def answer_question(
    *, streamed_class: StreamedClass, fact_id: int, kind: str, by: Membership, now: datetime
) -> QuestionAnswer:
    """Keep that a coach finds a fact right as it is; nothing else changes.

    It isn't asked again for this fact. Answering again is answered the same.
    Raises ``Refused``: ``forbidden`` for who isn't a coach of the class, ``invalid`` for what
    isn't of the class, a ``conflict`` if the result was changed meanwhile.
    """
    if not access.may_manage(by, streamed_class):
        raise refuse("", "Only a coach answers that.", kind="forbidden")
    if kind not in {each.value for each in Kind}:
        raise refuse("kind", "That question is not known.", f"It is one of {', '.join(Kind)}.")
    with transaction.atomic():
        # The result is held, so that nobody corrects it while its old fact is found right.
        result = (
            Result.objects.select_for_update(of=("self",))
            .filter(streamed_class=streamed_class, facts=fact_id)
            .select_related("member", "current")
            .first()
        )
        fact = result.current if result else None
        if result is None or fact is None:
            raise refuse("fact", "That result is not of this class.", "Reload the page.")
        if fact.pk != fact_id:
            raise refuse(
                "fact", "That result was changed meanwhile.", "Look at it again.", "conflict"
            )
        answer, is_new = QuestionAnswer.objects.get_or_create(
            fact=fact,
            kind=kind,
            defaults={"member": result.member, "answered_by": by, "answered_at": now},
        )
        if is_new:
            audit.record(
                gym=by.gym,
                by=by,
                what="find-result-right",
                member=result.member,
                subject=streamed_class.workout.title,
                subject_key=f"result {result.pk}",
                details={"mark": fact.mark, "question": kind},
                now=now,
            )
    return answer


@transaction.atomic
def keep_questions(*, asked: Iterable[QuestionAsked], now: datetime) -> int:
    """Keep what ``selectors.questions`` found to ask, each once; answers how many are new.

    Once kept, a question stays until it is answered or its result is changed.
    """
    rows = {(row.fact_id, row.kind): row for row in asked}
    there = Fact.objects.filter(pk__in={fact for fact, _ in rows})  # unless erased meanwhile
    known = QuestionAsked.objects.filter(fact__in=there).values_list("fact", "kind")
    for key in known:
        rows.pop(key, None)
    facts = set(there.values_list("pk", flat=True))
    new = [row for row in rows.values() if row.fact_id in facts]
    for row in new:
        row.asked_at = now
    QuestionAsked.objects.bulk_create(new, ignore_conflicts=True)
    return len(new)
