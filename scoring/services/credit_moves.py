"""Who moves on a board when a class counts by other credits. Writes nothing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from django.db.models import Q

from scoring.core.credit_changes import moves
from scoring.core.credits import Choice, CreditTable, parse_choices
from scoring.core.ranking import Entry, competition_ranks
from scoring.core.scoring import RULES_VERSION, Rules, score
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import core_result, course, course_of, score_fields
from scoring.models import Fact, Result, Score, StreamedClass


@dataclass(frozen=True, slots=True)
class Move:
    """A result whose score or rank differs. ``None`` means it had no score before."""

    result_id: int
    old_rank: int | None
    new_rank: int
    old_adjusted: str | None
    new_adjusted: str
    is_scored_otherwise: bool

    @property
    def is_ranked_otherwise(self) -> bool:
        return self.old_rank != self.new_rank


@dataclass(frozen=True, slots=True)
class Moves:
    """What other credits do to one board of ``results`` rows; ``moved`` by new rank."""

    results: int
    moved: tuple[Move, ...]

    @property
    def scores(self) -> int:
        """Results with another score."""
        return sum(move.is_scored_otherwise for move in self.moved)

    @property
    def ranks(self) -> int:
        """Results with another rank."""
        return sum(move.is_ranked_otherwise for move in self.moved)


@lru_cache(maxsize=4096)
def _choices(text: str, weighted: bool, options: str) -> tuple[Choice, ...]:
    """The choices of a stored text. Many members of a class write the same ones."""
    return parse_choices(course(text, weighted), options)


def class_moves(
    *,
    streamed_class: StreamedClass,
    old: CreditTable,
    new: CreditTable,
    is_done: bool = False,
) -> Moves:
    """Compare a class's board by the credits of ``old`` and by those of ``new``.

    Only results whose own options have another credit are scored again. ``is_done`` says
    that the scores kept are those by ``new`` already; else they are those by ``old``.
    """
    of_course, above_one = course_of(streamed_class), streamed_class.above_one
    workout = streamed_class.workout.text
    kept: dict[int, tuple[int, int, str]] = {
        pk: (key, tie_key, text)
        for pk, key, tie_key, text in Score.objects.filter(
            streamed_class=streamed_class
        ).values_list("result_id", "key", "tie_key", "adjusted_text")
    }
    asked = (
        Result.objects.filter(streamed_class=streamed_class, current__is_withdrawn=False)
        .filter(
            ~Q(current__options="")
            | Q(score__isnull=True)
            | ~Q(score__rules_version=RULES_VERSION)
            | ~Q(score__credit_table=streamed_class.credit_table_id)
        )
        .select_related("current", "score")
    )
    olds, news = dict(kept), dict(kept)
    otherwise: set[int] = set()
    moving: dict[str, bool] = {}  # by text of options, which many share
    for result in asked:
        fact = result.current
        row = getattr(result, "score", None)
        if fact is None:
            continue
        if fact.options not in moving:
            choices = _choices(workout, streamed_class.weighted, fact.options)
            moving[fact.options] = moves(of_course, choices, old, new, above_one=above_one)
        is_in_step = (
            row is not None
            and row.rules_version == RULES_VERSION
            and row.credit_table_id == streamed_class.credit_table_id
        )
        if is_in_step and not moving[fact.options]:
            continue
        after = _scored(streamed_class, fact, new)
        news[result.pk] = (after.key, after.tie_key, after.adjusted.text)
        if is_done:
            before = _scored(streamed_class, fact, old)
            olds[result.pk] = (before.key, before.tie_key, before.adjusted.text)
            if score_fields(before) != score_fields(after):
                otherwise.add(result.pk)
        elif row is None or any(getattr(row, n) != v for n, v in score_fields(after).items()):
            otherwise.add(result.pk)
    return Moves(len(news), tuple(_compared(olds, news, otherwise)))


def _scored(streamed_class: StreamedClass, fact: Fact, table: CreditTable) -> CoreScore:
    of_course = course_of(streamed_class)
    rules = Rules(table, streamed_class.above_one, streamed_class.tie_break_block)
    return score(of_course, core_result(of_course, fact), rules)


def _compared(
    olds: dict[int, tuple[int, int, str]],
    news: dict[int, tuple[int, int, str]],
    otherwise: set[int],
) -> list[Move]:
    if not otherwise:
        return []
    old_ranks, new_ranks = _ranks(olds), _ranks(news)
    found = [
        Move(
            pk,
            old_ranks.get(pk),
            new_ranks[pk],
            olds[pk][2] if pk in olds else None,
            news[pk][2],
            pk in otherwise,
        )
        for pk in news
        if pk in otherwise or old_ranks.get(pk) != new_ranks[pk]
    ]
    return sorted(found, key=lambda move: (move.new_rank, move.result_id))


def _ranks(rows: dict[int, tuple[int, int, str]]) -> dict[int, int]:
    entries = [Entry(key, tie_key, "") for key, tie_key, _ in rows.values()]
    return dict(zip(rows, competition_ranks(entries), strict=True))
