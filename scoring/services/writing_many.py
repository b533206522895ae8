"""What ``writing.py`` writes one by one, for many results of one class at once.

The class's row must be held (``next_board_version``). A handful of queries whatever the
number of results; the board is told once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from members.models import Membership
from scoring import boards
from scoring.core.scoring import RULES_VERSION
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import score_fields
from scoring.models import Fact, Result, Score, StreamedClass


@dataclass(frozen=True, slots=True)
class NewFact:
    """What is to stand of a member. ``result`` is ``None`` for a first one; without
    ``scored`` the fact withdraws it."""

    member_id: int
    result: Result | None
    texts: dict[str, str]
    note: str
    effort: int | None
    scored: CoreScore | None


def add_facts(
    *,
    streamed_class: StreamedClass,
    new: Sequence[NewFact],
    entered_by: Membership,
    reason: str,
    now: datetime,
) -> list[Fact]:
    """Append a fact to each result, make it the current one, and write what it scores.

    The facts are answered in the order of ``new``; a member may be named once.
    """
    made = Result.objects.bulk_create(
        Result(streamed_class=streamed_class, member_id=one.member_id)
        for one in new
        if one.result is None
    )
    fresh = {result.member_id: result for result in made}
    results = [one.result or fresh[one.member_id] for one in new]
    facts = Fact.objects.bulk_create(
        Fact(
            result=result,
            number=result.current.number + 1 if result.current else 1,
            note=one.note,
            effort=one.effort,
            entered_by=entered_by,
            reason=reason,
            is_withdrawn=one.scored is None,
            created_at=now,
            **one.texts,
        )
        for one, result in zip(new, results, strict=True)
    )
    for result, fact in zip(results, facts, strict=True):
        result.current = fact
    Result.objects.bulk_create(
        results, update_conflicts=True, unique_fields=["id"], update_fields=["current"]
    )
    _put_scores(streamed_class, list(zip(facts, (one.scored for one in new), strict=True)))
    return facts


def _put_scores(
    streamed_class: StreamedClass, scored: Sequence[tuple[Fact, CoreScore | None]]
) -> None:
    Score.objects.filter(result__in=[f.result_id for f, score in scored if score is None]).delete()
    rows = [
        Score(
            streamed_class=streamed_class,
            result_id=fact.result_id,
            fact=fact,
            rules_version=RULES_VERSION,
            credit_table_id=streamed_class.credit_table_id,
            **score_fields(score),
        )
        for fact, score in scored
        if score is not None
    ]
    if rows:
        given = [
            field.attname
            for field in Score._meta.concrete_fields
            if not field.primary_key and field.name != "result"
        ]
        Score.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=["result"], update_fields=given
        )
    # A board that is kept elsewhere takes changes one version at a time; these are many.
    class_id = streamed_class.pk
    transaction.on_commit(lambda: boards.store().forget(class_id))
