"""Results as a recompute reads them: plain columns, no model instances, scored anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from scoring.boards import Pair
from scoring.core.course import Course
from scoring.core.repeated import MOST, Repeated
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import Rules
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import course, rules_of, score_fields
from scoring.models import Result, Score, StreamedClass

FIELDS = (
    "raw_reps", "credited", "seconds", "performance", "key", "tie_key", "as_prescribed",
    "adjusted_text", "adjusted_reps", "adjusted_seconds",
)  # fmt: skip
"""What a score row says, in the order of ``score_fields``."""
_KEY, _TIE, _TEXT = (FIELDS.index(name) for name in ("key", "tie_key", "adjusted_text"))
_TOLD = ("pk", "current_id", "current__mark", "current__options", "current__splits")
_ROW = ("result_id", "pk", "fact_id", "rules_version", "credit_table_id", *FIELDS)
_NO_ROW = (None,) * len(_ROW)


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


class Rescoring:
    """What a score row of a class should say, from the texts of a fact."""

    def __init__(self, scoring: Repeated) -> None:
        self._scoring = scoring
        self._kept: dict[int, tuple[tuple[Any, ...], CoreScore]] = {}

    def __call__(self, mark: str, options: str, splits: str) -> tuple[Any, ...]:
        """The values of ``FIELDS``; many rows share one tuple."""
        scored, tie_key = self._scoring(mark, options, splits)
        kept = self._kept.get(id(scored))
        if kept is None:  # keeping the score keeps its id from being another's
            if len(self._kept) >= MOST:
                self._kept.clear()
            kept = self._kept[id(scored)] = (tuple(score_fields(scored).values()), scored)
        if tie_key == scored.tie_key:
            return kept[0]
        return (*kept[0][:_TIE], tie_key, *kept[0][_TIE + 1 :])


Scoring = Callable[[Course, CoreResult, Rules], CoreScore]


@lru_cache(maxsize=4)
def _again(
    text: str,
    weighted: bool,
    table_id: int,
    above_one: bool,
    tie_break: int | None,
    scoring: Scoring,
) -> Rescoring:
    row = StreamedClass(credit_table_id=table_id, above_one=above_one, tie_break_block=tie_break)
    return Rescoring(Repeated(course(text, weighted), rules_of(row), scoring))


def again(streamed_class: StreamedClass, scoring: Scoring) -> Rescoring:
    """What rescores a class, with what it has scored already: a run goes in chunks."""
    return _again(
        streamed_class.workout.text,
        streamed_class.weighted,
        streamed_class.credit_table_id,
        streamed_class.above_one,
        streamed_class.tie_break_block,
        scoring,
    )


def read_scored(
    class_id: int, rescoring: Rescoring, *, after: int, most: int, named: bool = False
) -> list[Scored]:
    """The next results of a class that count, by their keys, each scored anew.

    Read whole: a cursor left open would hold up the writing that follows. ``named`` reads
    the members' names too.
    """
    columns = (*_TOLD, "member__display_name") if named else _TOLD
    results = list(
        Result.objects.filter(streamed_class=class_id, pk__gt=after, current__is_withdrawn=False)
        .order_by("pk")
        .values_list(*columns)[:most]
    )
    if not results:
        return []
    # Asked for apart: joined, a database may read every score before the first one wanted.
    there = {
        row[0]: row
        for row in Score.objects.filter(
            streamed_class=class_id, result__gt=after, result__lte=results[-1][0]
        ).values_list(*_ROW)
    }
    found = []
    for told in results:
        row = there.get(told[0], _NO_ROW)
        found.append(
            Scored(
                told[0], told[1], row[1], row[2], row[3:5], row[5:], rescoring(*told[2:5]),
                told[-1] if named else "",
            )
        )  # fmt: skip
    return found
