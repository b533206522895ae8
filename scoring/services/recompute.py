"""Recomputing a class's board: whole, resumable, and shown before it happens."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate

from django.db import IntegrityError, transaction
from django.db.models import Exists, F, OuterRef, Q

from scoring import boards
from scoring.boards import Pair
from scoring.core.repeated import Repeated
from scoring.core.scoring import RULES_VERSION, score
from scoring.mapping import course_of, rules_of
from scoring.models import (
    ChangedClass,
    CreditChange,
    CreditTableVersion,
    RecomputeRun,
    Score,
    StreamedClass,
)

from .recompute_rows import Rescoring, Scored, again, read_scored
from .recompute_writing import Stamp, write

CHUNK = 3_000
"""Results in one transaction: what the class's row may be held for, a sixth of a second."""

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


@dataclass(frozen=True, slots=True)
class Moving:
    """How many a recompute would move, and the first of them by their new rank."""

    moved: int
    first: list[Difference]


def moving(
    *,
    streamed_class: StreamedClass,
    table: CreditTableVersion | None = None,
    most: int | None = None,
) -> Moving:
    """Who would move, and whose adjusted mark would change. Writes nothing.

    Results are read and scored twice, a chunk at a time: to count who has which keys, and to
    see who would have others. So what is held in memory are the different keys and ``most``
    differences, not the class.
    """
    rules = rules_of(streamed_class, table)
    rescoring = Rescoring(Repeated(course_of(streamed_class), rules, score))
    old_places, new_places = Counter[Pair](), Counter[Pair]()
    for row in _chunks(streamed_class, rescoring):
        new_places[row.pair] += 1
    for pair in (
        Score.objects.filter(streamed_class=streamed_class)
        .values_list("key", "tie_key")
        .iterator(chunk_size=CHUNK)
    ):
        old_places[pair] += 1
    old_ranks, new_ranks = _ranks(old_places), _ranks(new_places)
    found = _Found(most)
    for row in _chunks(streamed_class, rescoring):
        old_rank = old_ranks[row.old_pair] if row.old_pair else None
        if not row.is_same or old_rank != new_ranks[row.pair]:
            found.take(row, old_rank, new_ranks[row.pair])
    return Moving(found.count, found.sorted())


def differences(
    *, streamed_class: StreamedClass, table: CreditTableVersion | None = None
) -> list[Difference]:
    """All who would move, by their new rank."""
    return moving(streamed_class=streamed_class, table=table).first


def _chunks(streamed_class: StreamedClass, rescoring: Rescoring) -> Iterator[Scored]:
    cursor = 0
    while True:
        rows = read_scored(streamed_class.pk, rescoring, after=cursor, most=CHUNK, named=True)
        yield from rows
        if len(rows) < CHUNK:
            return
        cursor = rows[-1].result_id


def _ranks(places: Counter[Pair]) -> dict[Pair, int]:
    ordered = sorted(places, key=lambda pair: (-pair[0], pair[1]))
    above = accumulate((places[pair] for pair in ordered), initial=1)
    return dict(zip(ordered, above, strict=False))


class _Found:
    """The differences that stand first, and how many there are."""

    def __init__(self, most: int | None) -> None:
        self._most, self.count = most, 0
        self._kept: list[Difference] = []

    def take(self, row: Scored, old_rank: int | None, new_rank: int) -> None:
        self.count += 1
        self._kept.append(
            Difference(
                row.result_id, row.name, old_rank, new_rank, row.old_adjusted, row.new_adjusted
            )
        )
        if self._most is not None and len(self._kept) >= 2 * self._most + CHUNK:
            self._kept = heapq.nsmallest(self._most, self._kept, key=_place)

    def sorted(self) -> list[Difference]:
        return sorted(self._kept, key=_place)[: self._most]


def _place(found: Difference) -> tuple[int, str]:
    return found.new_rank, found.name.casefold()


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

    A chunk is read and scored first, and then written in one transaction that holds the
    class's row. If the board has another version by then, somebody logged in between and it
    is read again with the row held: nobody's result can slip through, and nobody who logs
    waits for more than one chunk. With ``table`` the class moves to that version of the
    credits first. ``chunks`` stops after so many; the run it answers is then not finished.
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


def _class_of(run: RecomputeRun) -> StreamedClass:
    return StreamedClass.objects.select_related("workout").get(pk=run.streamed_class_id)


def _read(run: RecomputeRun, streamed_class: StreamedClass) -> list[Scored]:
    """The next results of a run; none if the class counts by other credits by now."""
    if streamed_class.credit_table_id != run.credit_table_id:
        return []
    rescoring = again(streamed_class, score)
    return read_scored(streamed_class.pk, rescoring, after=run.cursor, most=CHUNK)


def _chunk(run: RecomputeRun, now: datetime) -> bool:
    """Recompute the next results of a run; whether there may be more."""
    before, cursor = _class_of(run), run.cursor
    rows = _read(run, before)
    with transaction.atomic():
        StreamedClass.objects.filter(pk=run.streamed_class_id).update(
            board_version=F("board_version") + 1
        )
        # Read with the class's row held: another worker may have gone on with the same run.
        run.refresh_from_db()
        if run.finished_at is not None:
            return False
        fresh = _class_of(run)
        if (fresh.board_version, run.cursor) != (before.board_version + 1, cursor):
            rows = _read(run, fresh)
        stamp = Stamp(fresh.pk, RULES_VERSION, run.credit_table_id)
        run.moved += write(rows, stamp, after=run.cursor)
        run.done += len(rows)
        if rows:
            run.cursor = rows[-1].result_id
        if len(rows) < CHUNK:
            run.finished_at = now
        run.save(update_fields=["cursor", "done", "moved", "finished_at"])
        return run.finished_at is None
