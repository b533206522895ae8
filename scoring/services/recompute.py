"""Recomputing a class's board: whole, resumable, and shown before it happens."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.db.models import Exists, F, OuterRef, Q

from scoring import boards
from scoring.core.ranking import Entry, competition_ranks
from scoring.core.scoring import RULES_VERSION, score
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import core_result, course_of, rules_of, score_fields
from scoring.models import (
    ChangedClass,
    CreditChange,
    CreditTableVersion,
    Fact,
    RecomputeRun,
    Result,
    Score,
    StreamedClass,
)

CHUNK = 200

STOPPED_AFTER = timedelta(minutes=2)
"""A run that began so long ago and is not finished has no worker any more, or one more helps."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A result whose score or rank a recompute would change. ``None`` means no score yet."""

    result_id: int
    name: str
    old_rank: int | None
    new_rank: int
    old_adjusted: str | None
    new_adjusted: str


def _scored(
    streamed_class: StreamedClass,
    table: CreditTableVersion | None,
    after: int = 0,
    most: int | None = None,
) -> Iterator[tuple[Result, Fact, CoreScore]]:
    course, rules = course_of(streamed_class), rules_of(streamed_class, table)
    results = (
        Result.objects.filter(
            streamed_class=streamed_class, pk__gt=after, current__is_withdrawn=False
        )
        .select_related("current", "member", "score")
        .order_by("pk")
    )
    # A chunk is read whole: a cursor left open would hold up the writing that follows.
    for result in results.iterator(chunk_size=CHUNK) if most is None else results[:most]:
        if result.current is not None:
            yield result, result.current, score(course, core_result(course, result.current), rules)


def differences(
    *, streamed_class: StreamedClass, table: CreditTableVersion | None = None
) -> list[Difference]:
    """Who would move, and whose adjusted mark would change. Writes nothing."""
    both = list(_scored(streamed_class, table))
    rows: dict[int, Score] = {
        row.result_id: row for row in Score.objects.filter(streamed_class=streamed_class)
    }
    old_ranks = dict(
        zip(
            rows,
            competition_ranks([Entry(r.key, r.tie_key, "") for r in rows.values()]),
            strict=True,
        )
    )
    new_ranks = competition_ranks([Entry(s.key, s.tie_key, "") for _, _, s in both])
    found = []
    for (result, _, scored), new_rank in zip(both, new_ranks, strict=True):
        row = rows.get(result.pk)
        same = row is not None and all(
            getattr(row, name) == value for name, value in score_fields(scored).items()
        )
        if not same or old_ranks[result.pk] != new_rank:
            found.append(
                Difference(
                    result.pk,
                    result.member.display_name,
                    old_ranks.get(result.pk),
                    new_rank,
                    row.adjusted_text if row else None,
                    scored.adjusted.text,
                )
            )
    return sorted(found, key=lambda d: (d.new_rank, d.name.casefold()))


def start_recompute(
    *, streamed_class: StreamedClass, table: CreditTableVersion | None = None, now: datetime
) -> RecomputeRun:
    """The run to go on with: the unfinished one of the same rules and credits, else a new one.

    Without ``table`` it is for the credits the class counts by now, whatever it did when
    ``streamed_class`` was read.
    """
    with transaction.atomic():
        wanted: int = (
            table.pk
            if table is not None
            else StreamedClass.objects.values_list("credit_table_id", flat=True).get(
                pk=streamed_class.pk
            )
        )
        run = RecomputeRun.objects.filter(
            streamed_class=streamed_class, finished_at__isnull=True
        ).first()
        if run and (run.rules_version, run.credit_table_id) == (RULES_VERSION, wanted):
            return run
        if run:  # its rules are not the ones wanted any more: start over
            run.finished_at = now
            run.save(update_fields=["finished_at"])
        try:
            with transaction.atomic():
                return RecomputeRun.objects.create(
                    streamed_class=streamed_class,
                    rules_version=RULES_VERSION,
                    credit_table_id=wanted,
                    started_at=now,
                )
        except IntegrityError:  # another worker started it just now
            return RecomputeRun.objects.get(streamed_class=streamed_class, finished_at=None)


def recompute_class(
    *,
    streamed_class: StreamedClass,
    table: CreditTableVersion | None = None,
    now: datetime,
    chunks: int | None = None,
) -> RecomputeRun:
    """Recompute every score of a class, in chunks; a run that died goes on where it stopped.

    Each chunk is one transaction that holds the class's row, so nobody's new result can
    slip between. With ``table`` the class moves to that version of the credits first.
    ``chunks`` stops after so many; the run it answers is then not finished.
    """
    run = start_recompute(streamed_class=streamed_class, table=table, now=now)
    with transaction.atomic():
        StreamedClass.objects.filter(pk=streamed_class.pk).exclude(
            credit_table=run.credit_table_id
        ).update(credit_table=run.credit_table_id, board_version=F("board_version") + 1)
    done = 0
    while (chunks is None or done < chunks) and _chunk(run, now):
        done += 1
    if run.finished_at is not None:
        boards.store().forget(streamed_class.pk)
    return run


def stopped_recomputes(*, now: datetime) -> list[int]:
    """Classes with a recompute that nobody may be at. Those that a change of credits goes
    through are left to that change: it counts them."""
    its_own = ChangedClass.objects.filter(
        streamed_class=OuterRef("streamed_class"),
        done_at=None,
        change__state=CreditChange.State.WORKING,
    )
    # A start that is yet to come was noted before the clock was set back.
    long_ago = Q(started_at__lte=now - STOPPED_AFTER) | Q(started_at__gt=now + STOPPED_AFTER)
    rows = RecomputeRun.objects.filter(long_ago, ~Exists(its_own), finished_at=None)
    return list(rows.order_by("pk").values_list("streamed_class_id", flat=True))


def go_on(*, class_id: int, now: datetime) -> RecomputeRun | None:
    """Finish the recompute of a class that is unfinished, ``None`` where there is none."""
    streamed_class = StreamedClass.objects.filter(pk=class_id).first()
    if streamed_class is None or not streamed_class.runs.filter(finished_at=None).exists():
        return None
    return recompute_class(streamed_class=streamed_class, now=now)


def _chunk(run: RecomputeRun, now: datetime) -> bool:
    """Recompute the next results of a run; whether there may be more."""
    with transaction.atomic():
        StreamedClass.objects.filter(pk=run.streamed_class_id).update(
            board_version=F("board_version") + 1
        )
        # Read with the class's row held: another worker may have gone on with the same run.
        run.refresh_from_db()
        fresh = StreamedClass.objects.select_related("workout").get(pk=run.streamed_class_id)
        if run.finished_at is not None:
            return False
        is_ours = fresh.credit_table_id == run.credit_table_id
        found = _scored(fresh, None, after=run.cursor, most=CHUNK) if is_ours else []
        wrong: list[Score] = []
        right: list[int] = []
        done = 0
        for result, fact, scored in found:
            fields = score_fields(scored)
            row = getattr(result, "score", None)
            if row is not None and all(getattr(row, name) == v for name, v in fields.items()):
                right.append(row.pk)
                if row.fact_id != fact.pk:
                    Score.objects.filter(pk=row.pk).update(fact=fact)
            else:
                stamp = {
                    "streamed_class_id": fresh.pk,
                    "fact": fact,
                    "rules_version": RULES_VERSION,
                    "credit_table_id": run.credit_table_id,
                }
                wrong.append(Score(result=result, **stamp, **fields))
            run.cursor = result.pk
            done += 1
        _write(run, wrong, right)
        run.done += done
        run.moved += len(wrong)
        if done < CHUNK:
            run.finished_at = now
        run.save(update_fields=["cursor", "done", "moved", "finished_at"])
        return done == CHUNK


def _write(run: RecomputeRun, wrong: list[Score], right: list[int]) -> None:
    """Rows that count otherwise are written anew, at once; the others only stamped."""
    if wrong:
        names = [f.name for f in Score._meta.concrete_fields if f.name not in ("id", "result")]
        Score.objects.bulk_create(
            wrong, update_conflicts=True, unique_fields=["result"], update_fields=names
        )
    Score.objects.filter(pk__in=right).update(
        rules_version=RULES_VERSION, credit_table=run.credit_table_id
    )
