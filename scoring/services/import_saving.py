"""An import coming in: some lines at a time, each part whole or not at all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from members.models import Membership
from scoring import access, metrics
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import course_of, rules_of
from scoring.models import Fact, ImportLine, ImportRun, Result, StreamedClass, Submission
from scoring.problems import Refused, refuse

from .import_holding import held_lines, write_lines
from .import_settling import says_the_same, told_short
from .reading import ResultInput, read_result, texts_of
from .submitting import digest_of
from .what_stays import with_what_stays
from .writing import next_board_version
from .writing_many import NewFact, add_facts

CHUNK = 100
SAVED_FIELDS = ("state", "fact", "problems", "remarks", "before", "is_new", "is_accepted")
REASONS = {
    ImportRun.Kind.CHAT.value: "told in the class's chat",
    ImportRun.Kind.SHEET.value: "brought in from a file",
}
States = ImportLine.State


@dataclass(frozen=True, slots=True)
class Step:
    """``changed`` are the facts by which results that were there were changed."""

    has_more: bool
    changed: tuple[int, ...] = ()


def held_run(pk: int, state: str) -> ImportRun | None:
    """An import in a state, held until the transaction ends; with all that scoring needs."""
    return (
        ImportRun.objects.select_for_update(of=("self",))
        .select_related(
            "streamed_class__workout",
            "streamed_class__gym",
            "streamed_class__credit_table",
            "by",
        )
        .filter(pk=pk, state=state)
        .first()
    )


def save_chunk(*, pk: int, now: datetime) -> Step:
    """Bring the next lines of a confirmed import in.

    A line is marked with the fact it made in the same transaction, so whoever goes on after
    a crash, or works at the same time, finds it done. Whatever is not any more as the coach
    saw it is left out and said on its line.
    """
    try:
        with transaction.atomic():
            run = held_run(pk, ImportRun.State.SAVING)
            if run is None:
                return Step(False)
            lines = held_lines(run.lines.filter(state=States.GOOD).order_by("number")[:CHUNK])
            changed = _save(run, lines, now) if lines else ()
            run.touched_at = now
            if len(lines) < CHUNK:
                run.state, run.finished_at = ImportRun.State.DONE, now
            run.save(update_fields=["touched_at", "state", "finished_at"])
            return Step(run.state == ImportRun.State.SAVING, changed)
    except Refused as refused:
        # The class was closed, or the coach's right taken, after it was confirmed.
        said = " ".join(f"{i.problem} {i.suggestion}".strip() for i in refused.items)
        with transaction.atomic():
            if run := held_run(pk, ImportRun.State.SAVING):
                run.state, run.fault, run.touched_at = run.resting_state(), said[:500], now
                run.save(update_fields=["state", "fault", "touched_at"])
        return Step(False)


def _confirmed_by(run: ImportRun) -> Membership:
    if run.by is not None and access.may_manage(run.by, run.streamed_class):
        return run.by
    raise refuse("", "Who confirmed this is no coach here any more.", "Confirm it again.")


def _save(run: ImportRun, lines: list[ImportLine], now: datetime) -> tuple[int, ...]:
    streamed, by = run.streamed_class, _confirmed_by(run)
    next_board_version(streamed, only_open=not run.reason)
    members = [line.member_id for line in lines if line.member_id]
    there = set(
        Membership.objects.filter(pk__in=members, left_at=None).values_list("pk", flat=True)
    )
    results = {
        row.member_id: row
        for row in Result.objects.filter(
            streamed_class=streamed, member__in=members
        ).select_related("current")
    }
    wanted: list[tuple[ImportLine, NewFact, ResultInput]] = []
    for line in lines:
        result = results.get(line.member_id or 0)
        fact = result.current if result else None
        if line.member_id not in there:
            _refuse(line, "member", "They are no longer in this gym.", "")
        elif says_the_same(line, fact):
            line.state = States.KNOWN
        elif (fact.pk if fact else None) != line.before_id:
            _ask_again(line, fact)
        elif found := _scored(line, fact, streamed):
            data, texts, score = found
            new = NewFact(line.member_id, result, texts, data.note, data.effort, score)
            wanted.append((line, new, data))
    facts = add_facts(
        streamed_class=streamed,
        new=[new for _, new, _ in wanted],
        entered_by=by,
        reason=run.reason or REASONS[run.kind],
        now=now,
    )
    metrics.results_imported(len(facts))
    for (line, _, _), fact in zip(wanted, facts, strict=True):
        line.state, line.fact = States.SAVED, fact
    _keep_keys(run, wanted, now)
    write_lines(lines, SAVED_FIELDS)
    return tuple(line.fact.pk for line, _, _ in wanted if line.fact and not line.is_new)


def _refuse(line: ImportLine, column: str, problem: str, suggestion: str) -> None:
    line.state = States.WRONG
    line.problems = [{"column": column, "problem": problem, "suggestion": suggestion}]


def _ask_again(line: ImportLine, fact: Fact | None) -> None:
    """What stands is not what the coach saw when they confirmed."""
    line.state, line.is_accepted, line.is_new, line.before = States.DOUBTFUL, False, False, fact
    now = "nothing" if fact is None or fact.is_withdrawn else told_short(fact.mark, fact.options)
    line.remarks = [f"While this came in their result was changed: it is {now}."]


def _scored(
    line: ImportLine, fact: Fact | None, streamed_class: StreamedClass
) -> tuple[ResultInput, dict[str, str], CoreScore] | None:
    """What is to stand, with what stays of the result there was where it still can."""
    told = ResultInput(
        mark=line.mark, options=line.options, splits=line.splits, note=line.note, effort=line.effort
    )
    data = with_what_stays(streamed_class=streamed_class, told=told, fact=fact)
    course = course_of(streamed_class)
    try:
        read, score = read_result(course, rules_of(streamed_class), data)
    except Refused as refused:
        item = refused.items[0]
        _refuse(line, item.column, item.problem, item.suggestion)
        return None
    return data, texts_of(course, read, data), score


def _keep_keys(
    run: ImportRun, wanted: Iterable[tuple[ImportLine, NewFact, ResultInput]], now: datetime
) -> None:
    """A key for each line, as ``submit_result`` keeps one for each thing that is sent.

    It says what the line says; that the same was brought in, taken back and brought in
    again is counted behind it.
    """
    digests = [line.digest for line, _, _ in wanted]
    came = Counter(
        ImportLine.objects.filter(
            run__streamed_class=run.streamed_class_id, digest__in=digests, fact__isnull=False
        ).values_list("digest", flat=True)
    )
    Submission.objects.bulk_create(
        Submission(
            streamed_class=run.streamed_class,
            member_id=new.member_id,
            key=f"import:{line.digest}:{came[line.digest]}",
            digest=digest_of(data, None),
            fact=line.fact,
            is_new_result=new.result is None,
            created_at=now,
        )
        for line, new, data in wanted
    )
