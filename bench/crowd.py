"""A class of very many results, loaded as fast as the database takes them.

Where members were caught, what they chose and their splits are drawn, the same every time, and
scored by the core; so the rows are those that logging them one by one would have left.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import islice
from typing import Any

import numpy as np
from django.db import connection, transaction
from django.utils import timezone

from bench.workload import WORKOUT
from members.models import Gym, Membership, Role
from scoring.core.marks import Caught, mark_text
from scoring.core.repeated import Repeated
from scoring.core.scoring import RULES_VERSION
from scoring.mapping import course_of, rules_of, score_fields
from scoring.models import Fact, Result, Score, StreamedClass
from scoring.services.classes import create_class, open_class

OPTIONS = (
    "", "", "", "", "tuck rock", "tuck rock", "knee push-up", "tuck rock; knee push-up",
    "goblet squat @ 12 kg", "goblet squat @ 16 kg", "tuck rock; goblet squat @ 12 kg",
    "knee push-up; single-arm row @ 12 kg",
)  # fmt: skip
NAMES = ("Ana", "Ben", "Cleo", "Dan", "Éva", "Finn", "Gita", "Hugo", "Ivo", "Öde", "Яна", "Zoe")
SPLIT_SHARE = 0.3


def gym_of(slug: str) -> tuple[Gym, Membership]:
    """A gym with a coach and nobody else."""
    gym = Gym.objects.create(name=f"Bench {slug}", slug=slug)
    coach = Membership.objects.create(gym=gym, display_name="Coach", role=Role.COACH)
    return gym, coach


def class_of(gym: Gym, coach: Membership) -> StreamedClass:
    now = timezone.now()
    made = create_class(gym=gym, coach=coach, starts_at=now, text=WORKOUT)
    return open_class(streamed_class=made, by=coach, now=now)


def texts(streamed_class: StreamedClass, count: int, seed: int) -> Iterator[tuple[str, str, str]]:
    """Mark, options and splits of so many results."""
    course, random = course_of(streamed_class), np.random.default_rng(seed)
    first, second = course.block_end(1), course.block_end(2)
    reps = np.clip(random.normal(185, 38, count), 5, 400).astype(int).tolist()
    option = random.integers(0, len(OPTIONS), count).tolist()
    has_split = (random.random(count) < SPLIT_SHARE).tolist()
    at = random.integers(180, 420, (count, 2)).tolist()
    marks: dict[int, str] = {}
    for n in range(count):
        raw = reps[n]
        mark = marks.get(raw) or marks.setdefault(raw, mark_text(course, Caught(raw)))
        splits = ""
        if has_split[n] and raw >= first:
            one, two = at[n][0], at[n][0] + at[n][1]
            splits = f"block 1 {one // 60}:{one % 60:02d}"
            if raw >= second:
                splits += f"; block 2 {two // 60}:{two % 60:02d}"
        yield mark, OPTIONS[option[n]], splits


def fill(streamed_class: StreamedClass, count: int, *, seed: int = 1) -> int:
    """Load members, results, facts and scores; answers the first member's key."""
    gym, now = streamed_class.gym, timezone.now()
    with transaction.atomic():
        member, result, fact, score = (
            (model.objects.order_by("-pk").values_list("pk", flat=True).first() or 0) + 1
            for model in (Membership, Result, Fact, Score)
        )
        load(Membership, _members(gym, member, count, now))
        load(
            Result,
            ((result + n, streamed_class.pk, member + n, fact + n) for n in range(count)),
            ("id", "streamed_class_id", "member_id", "current_id"),
        )
        drawn = list(texts(streamed_class, count, seed))
        load(
            Fact,
            (
                (fact + n, result + n, 1, *told, "", "", None, member + n, "", False, now)
                for n, told in enumerate(drawn)
            ),
            (
                "id", "result_id", "number", "mark", "options", "splits", "unbroken", "note",
                "effort", "entered_by_id", "reason", "is_withdrawn", "created_at",
            ),
        )  # fmt: skip
        # What they count by is read before the rows begin to flow.
        scoring = Repeated(course_of(streamed_class), rules_of(streamed_class))
        rows = scored(streamed_class, scoring, drawn, (score, result, fact))
        load(Score, rows, SCORE_COLUMNS)
        StreamedClass.objects.filter(pk=streamed_class.pk).update(board_version=count)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    streamed_class.refresh_from_db()
    return member


SCORE_COLUMNS = (
    "id", "result_id", "streamed_class_id", "fact_id", "rules_version", "credit_table_id",
    "raw_reps", "credited", "seconds", "performance", "key", "tie_key", "as_prescribed",
    "adjusted_text", "adjusted_reps", "adjusted_seconds",
)  # fmt: skip


def scored(
    streamed_class: StreamedClass,
    scoring: Repeated,
    drawn: Sequence[tuple[str, str, str]],
    first: tuple[int, int, int],
) -> Iterator[tuple[Any, ...]]:
    """Rows of scores, in the order of ``SCORE_COLUMNS``; ``first`` are the first keys of scores,
    results and facts."""
    score, result, fact = first
    stamp = (RULES_VERSION, streamed_class.credit_table_id)
    kept: dict[int, tuple[dict[str, Any], object]] = {}
    for n, told in enumerate(drawn):
        found, tie_key = scoring(*told)
        if id(found) not in kept:
            kept[id(found)] = (score_fields(found), found)
        fields = kept[id(found)][0]
        values = {**fields, "tie_key": tie_key}
        yield (score + n, result + n, streamed_class.pk, fact + n, *stamp, *values.values())


def _members(gym: Gym, first: int, count: int, now: datetime) -> Iterator[tuple[Any, ...]]:
    fixed = {"gym_id": gym.pk, "joined_at": now}
    fields = [f for f in Membership._meta.concrete_fields if f.name not in ("id", "display_name")]
    rest = [fixed.get(f.attname, f.get_db_prep_save(f.get_default(), connection)) for f in fields]
    for n in range(count):
        yield (first + n, f"{NAMES[n % len(NAMES)]} {n * 7919 % 1_000_003:06d}", *rest)


def load(model: Any, rows: Iterator[tuple[Any, ...]], columns: Sequence[str] = ()) -> None:
    """Rows straight into a table: COPY on PostgreSQL, one statement many times on SQLite."""
    table = model._meta.db_table
    if not columns:
        others = [f.attname for f in model._meta.concrete_fields
                  if f.name not in ("id", "display_name")]  # fmt: skip
        columns = ("id", "display_name", *others)
    names = ", ".join(columns)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
            cursor.execute(
                f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), MAX(id)) FROM {table}"
            )
        else:
            marks = ", ".join(["%s"] * len(columns))
            while some := list(islice(rows, 10_000)):
                cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", some)
