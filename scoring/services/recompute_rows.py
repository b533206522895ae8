"""Results as a recompute reads them: plain columns, no model instances, scored anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from scoring.boards import Pair
from scoring.core.course import Course
from scoring.core.repeated import Repeated
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import Rules
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import course, rules_of, score_fields
from scoring.models import Result, StreamedClass

FIELDS = (
    "raw_reps", "credited", "seconds", "performance", "key", "tie_key", "as_prescribed",
    "adjusted_text", "adjusted_reps", "adjusted_seconds",
)  # fmt: skip
"""What a score row says, in the order of ``score_fields``."""
_KEY, _TIE, _TEXT = (FIELDS.index(name) for name in ("key", "tie_key", "adjusted_text"))
_TOLD = (
    "pk", "current_id", "score__pk", "score__fact_id", "score__rules_version",
    "score__credit_table_id", "current__mark", "current__options", "current__splits",
)  # fmt: skip
_COLUMNS = (*_TOLD, *(f"score__{name}" for name in FIELDS))
_FIRST = len(_TOLD)
_LAST = _FIRST + len(FIELDS)


@dataclass(slots=True)
class Scored:
    """One result: what its row says, ``None`` without one, and what it should say."""

    result_id: int
    fact_id: int
    row_id: int | None
    row_fact_id: int | None
    row_stamp: tuple[int | None, int | None]
    old: tuple[Any, ...]
    new: tuple[Any, ...]
    name: str

    @property
    def is_same(self) -> bool:
        return self.old == self.new

    @property
    def pair(self) -> Pair:
        return self.new[_KEY], self.new[_TIE]

    @property
    def old_pair(self) -> Pair | None:
        return None if self.row_id is None else (self.old[_KEY], self.old[_TIE])

    @property
    def old_adjusted(self) -> str | None:
        text: str | None = self.old[_TEXT]
        return text

    @property
    def new_adjusted(self) -> str:
        return str(self.new[_TEXT])


@lru_cache(maxsize=4)
def _again(
    text: str,
    weighted: bool,
    table_id: int,
    above_one: bool,
    tie_break: int | None,
    scoring: Callable[[Course, CoreResult, Rules], CoreScore],
) -> Repeated:
    row = StreamedClass(
        credit_table_id=table_id, above_one=above_one, tie_break_block=tie_break
    )
    return Repeated(course(text, weighted), rules_of(row), scoring)


def again(
    streamed_class: StreamedClass,
    scoring: Callable[[Course, CoreResult, Rules], CoreScore],
) -> Repeated:
    """What scores a class's results, with what it has scored already: a run goes in chunks."""
    return _again(
        streamed_class.workout.text,
        streamed_class.weighted,
        streamed_class.credit_table_id,
        streamed_class.above_one,
        streamed_class.tie_break_block,
        scoring,
    )


def read_scored(
    class_id: int, scoring: Repeated, *, after: int, most: int, named: bool = False
) -> list[Scored]:
    """The next results of a class that count, by their keys, each scored anew.

    Read whole: a cursor left open would hold up the writing that follows. ``named`` reads
    the members' names too.
    """
    columns = (*_COLUMNS, "member__display_name") if named else _COLUMNS
    rows = (
        Result.objects.filter(
            streamed_class=class_id, pk__gt=after, current__is_withdrawn=False
        )
        .order_by("pk")
        .values_list(*columns)[:most]
    )
    fields: dict[int, list[Any]] = {}
    found = []
    for row in rows:
        scored, tie_key = scoring(*row[6:9])
        known = fields.get(id(scored))
        if known is None:
            known = fields[id(scored)] = [*score_fields(scored).values(), scored]
        new = (*known[:_TIE], tie_key, *known[_TIE + 1 : -1])
        found.append(
            Scored(
                row[0], row[1], row[2], row[3], row[4:6], row[_FIRST:_LAST], new,
                row[-1] if named else "",
            )
        )  # fmt: skip
    return found
