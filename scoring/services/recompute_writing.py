"""What a recompute writes: rows that say something else, and a stamp on all the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.db.models import Q

from scoring.models import Score

from .recompute_rows import FIELDS, Scored

_WRITTEN = ("id", "fact_id", *FIELDS)
_STAMPED = "rules_version = %s, credit_table_id = %s"
_TYPES = (
    "bigint", "bigint", "int", "text", "text", "text", "bigint", "bigint", "boolean", "text",
    "text", "text",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stamp:
    """The class, and what its scores count by now."""

    class_id: int
    rules_version: int
    credit_table_id: int


def write(rows: Sequence[Scored], stamp: Stamp, *, after: int) -> int:
    """Write a chunk of results that follow each other, the first after the key ``after``;
    answers how many say something else than before."""
    if not rows:
        return 0
    wanted = (stamp.rules_version, stamp.credit_table_id)
    wrong = [row for row in rows if not row.is_same]
    there = [
        (row.row_id, row.fact_id, *row.new)
        for row in rows
        if row.row_id is not None and (not row.is_same or row.row_fact_id != row.fact_id)
    ]
    if there:
        _update(there, wanted)
    missing = [row for row in rows if row.row_id is None]
    if missing:
        _create(missing, stamp)
    if any(row.row_stamp != wanted for row in rows):
        # All at once by the range of their keys: there are no other scores in between.
        Score.objects.filter(
            ~Q(rules_version=stamp.rules_version) | ~Q(credit_table=stamp.credit_table_id),
            streamed_class=stamp.class_id,
            result__gt=after,
            result__lte=rows[-1].result_id,
        ).update(rules_version=stamp.rules_version, credit_table=stamp.credit_table_id)
    return len(wrong)


def _create(missing: Sequence[Scored], stamp: Stamp) -> None:
    Score.objects.bulk_create(
        Score(
            result_id=row.result_id,
            streamed_class_id=stamp.class_id,
            fact_id=row.fact_id,
            rules_version=stamp.rules_version,
            credit_table_id=stamp.credit_table_id,
            **dict(zip(FIELDS, row.new, strict=True)),
        )
        for row in missing
    )


def _update(rows: Sequence[tuple[Any, ...]], stamp: tuple[int, int]) -> None:
    """Give rows new values, each as ``_WRITTEN``: PostgreSQL takes them as columns in one
    statement, SQLite one statement many times, which is as fast there."""
    names = _WRITTEN[1:]
    # Only names of our own and marks for values are put in.
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            sets = ", ".join(f"{name} = %s" for name in names)
            sql = f"UPDATE scoring_score SET {_STAMPED}, {sets} WHERE id = %s"  # noqa: S608
            cursor.executemany(sql, [(*stamp, *row[1:], row[0]) for row in rows])
            return
        sets = ", ".join(f"{name} = v.{name}" for name in names)
        given = ", ".join(f"%s::{kind}[]" for kind in _TYPES)
        sql = (
            f"UPDATE scoring_score s SET {_STAMPED}, {sets} "  # noqa: S608
            f"FROM unnest({given}) AS v ({', '.join(_WRITTEN)}) WHERE s.id = v.id"
        )
        cursor.execute(sql, [*stamp, *(list(column) for column in zip(*rows, strict=True))])
