"""Every score can be derived again: the fact, the stamped rules and credits give the same."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from scoring.core.course import Course
from scoring.core.scoring import RULES_VERSION, Rules, score
from scoring.mapping import core_result, course_of, rules_of, score_fields
from scoring.models import CreditTableVersion, Fact, RecomputeRun, Result, Score, StreamedClass

from .finding import Finding, Looked
from .scope import Scope

CHUNK = 1000
UNREADABLE = (ValueError, LookupError, ArithmeticError, TypeError)
"""What reading a damaged text, prescription or credit table may raise."""


def scores(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """A result that stands has one score, of its current fact, that says what the fact says;
    a withdrawn one has none."""
    for streamed in scope.classes():
        looked.counts["classes"] += 1
        yield from _of_class(streamed, looked)


def _of_class(streamed: StreamedClass, looked: Looked) -> Iterator[Finding]:
    is_recomputed = RecomputeRun.objects.filter(
        streamed_class=streamed, finished_at__isnull=True
    ).exists()
    rules: dict[int, Rules] = {}
    found = Result.objects.filter(streamed_class=streamed).select_related("current", "score")
    for result in found.order_by("pk").iterator(chunk_size=CHUNK):
        looked.counts["results"] += 1
        say = partial(
            Finding,
            subject=f"result {result.pk} in class {streamed.pk}",
            remedy=f"manage.py rescore --class {streamed.pk}",
        )
        fact, row = result.current, getattr(result, "score", None)
        if fact is None:
            continue  # that there is none is told by the check of facts
        if fact.is_withdrawn:
            if row is not None:
                yield say(
                    check="score-of-withdrawn",
                    detail="it was withdrawn and is still on the board",
                    remedy="withdraw it again: enter it once more and withdraw that",
                )
        elif row is None:
            yield say(check="score-missing", detail="it stands and has no score")
        else:
            looked.counts["scores derived again"] += 1
            yield from _stamps(streamed, row, fact, say, is_recomputed)
            if row.rules_version == RULES_VERSION:
                yield from _figures(streamed, row, fact, say, rules)


def _stamps(
    streamed: StreamedClass,
    row: Score,
    fact: Fact,
    say: partial[Finding],
    is_recomputed: bool,
) -> Iterator[Finding]:
    if row.fact_id != fact.pk:
        yield say(
            check="score-of-another-fact",
            detail=f"it counts fact {row.fact_id}, and fact {fact.pk} is the current one",
        )
    if row.streamed_class_id != streamed.pk:
        yield say(
            check="score-on-another-board",
            detail=f"its score stands on the board of class {row.streamed_class_id}",
        )
    if is_recomputed:
        return  # between two rules or credits, and being taken to the new ones
    if row.rules_version != RULES_VERSION:
        yield say(
            check="score-by-other-rules",
            detail=f"it was scored by rules {row.rules_version}; this program has "
            f"{RULES_VERSION}, so it can't be derived again",
        )
    if row.credit_table_id != streamed.credit_table_id:
        yield say(
            check="score-by-other-credits",
            detail=f"it counts by credit table {row.credit_table_id}, its class by "
            f"{streamed.credit_table_id}",
        )


def _figures(
    streamed: StreamedClass,
    row: Score,
    fact: Fact,
    say: partial[Finding],
    rules: dict[int, Rules],
) -> Iterator[Finding]:
    try:
        course = course_of(streamed)
        derived = _derived(streamed, course, row, fact, rules)
    except UNREADABLE as error:
        yield say(
            check="fact-unreadable",
            detail=f"fact {fact.pk} can't be scored: {error}",
            remedy="correct the result: what it says no longer fits the workout",
        )
        return
    wrong = [
        f"{name} is {getattr(row, name)!r}, derived {value!r}"
        for name, value in derived.items()
        if getattr(row, name) != value
    ]
    if wrong:
        yield say(check="score-differs", detail="; ".join(wrong))


def _derived(
    streamed: StreamedClass, course: Course, row: Score, fact: Fact, rules: dict[int, Rules]
) -> dict[str, object]:
    by = rules.get(row.credit_table_id)
    if by is None:
        # Read here and not from what the process keeps: that could be of before.
        table = CreditTableVersion.objects.get(pk=row.credit_table_id)
        by = rules[row.credit_table_id] = rules_of(streamed, table)
    return score_fields(score(course, core_result(course, fact), by))
