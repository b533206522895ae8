"""How far a result's rank could be another one, options being worth what results say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from functools import lru_cache

import numpy as np
from django.db import connection
from django.db.models import Count, Max
from scipy import sparse

from scoring import access
from scoring.core.course import Course
from scoring.core.credits import choice_label, parse_choices, portions
from scoring.core.estimation.naming import way_of
from scoring.core.estimation.rank_range import (
    EXPLAINED,
    Field,
    Pair,
    drawn_credits,
    drawn_ranks,
    middle_ranks,
    told,
    with_rank,
)
from scoring.core.estimation.ways import Ints
from scoring.core.marks import parse_mark
from scoring.core.prescription import CREDIT_SCALE, BlockKind
from scoring.core.scoring import Rules, line_counts
from scoring.mapping import course_of, rules_of
from scoring.models import Result, Score, State, StreamedClass

from .estimates import Snapshot, latest
from .lately import Lately

MOST = 4_000
"""So many different results with options are counted again in each draw. Of a board with more
every other one, every third and so on stands for its neighbours."""

KEPT = 32
"""Boards whose draws a process keeps."""

GROWN = 0.02
"""Draws of an open class that has grown by a larger share since are not told any more."""


_Listed = tuple[str, str, str, str, int, int, int]
"""Mark, options, credited, seconds, key and tie key of so many results, as kept."""


@dataclass(frozen=True, slots=True)
class LikelyRank:
    """Between which ranks a result would lie four times in five, ``rank``, the board's, among
    them.

    ``results`` and ``until`` say what the options' worth is known from.
    """

    rank: int
    best: int
    worst: int
    results: int
    until: datetime | None

    @property
    def words(self) -> str:
        return told(self.rank, self.best, self.worst)

    @property
    def explained(self) -> str:
        return EXPLAINED


@dataclass(frozen=True, slots=True)
class _Work:
    """What one result did: weighed reps that count surely, and those of each pair."""

    certain: int
    parts: tuple[tuple[Pair, int], ...]
    seconds: int
    tie_key: int


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """``results`` is how many there are on the board, ``last_fact`` the newest of them."""

    field: Field
    pairs: dict[Pair, int]
    credits: Ints
    results: int
    last_fact: int


def likely_rank(*, result: Result, rank: int | None, viewer: access.Viewer) -> LikelyRank | None:
    """A result's likely ranks; ``None`` for who may not see it, where nothing has been worked
    out, and where nobody in the class used an option whose worth could be otherwise."""
    score, streamed = getattr(result, "score", None), result.streamed_class
    if rank is None or score is None or not access.may_see_result(viewer, result):
        return None
    held, course = latest(gym_id=streamed.gym_id), course_of(streamed)
    if held is None or held.is_prior or _is_lift(course):
        return None
    fact, board = result.current, _drawn(streamed, held)
    if board is None or not board.pairs or fact is None or fact.pk > board.last_fact:
        return None
    work = _work(
        course, rules_of(streamed), fact.mark, fact.options, score.credited, score.seconds,
        score.tie_key,
    )  # fmt: skip
    if any(pair not in board.pairs for pair, _ in work.parts):
        return None  # the board changed while it was read
    ranks = drawn_ranks(board.field, _field([work], [1], board.pairs), board.credits)
    found = with_rank(middle_ranks(ranks), rank)
    return LikelyRank(rank, found.best, found.worst, held.results, held.until)


def _drawn(streamed: StreamedClass, held: Snapshot) -> _Drawn | None:
    """A class's draws: of an open one those of a moment ago, ``None`` while it has grown much
    since, for then a rank among those of before would say nothing of the one now. For the same
    reason who has logged since is told nothing until the next draws."""
    if connection.in_atomic_block:
        return _board.__wrapped__(streamed.pk, streamed.board_version, held)
    if streamed.state != State.OPEN:
        return _board(streamed.pk, streamed.board_version, held)
    found = _lately.of_class(
        streamed,
        (held.pk, held.blanked),
        lambda: _board.__wrapped__(streamed.pk, streamed.board_version, held),
        waits=False,
    )
    if found is None or abs(streamed.board_entries - found.results) > GROWN * found.results:
        return None
    return found


_lately: Lately[_Drawn] = Lately()


def forget() -> None:
    """Forget the boards that this process keeps."""
    _board.cache_clear()
    _lately.forget()


def _is_lift(course: Course) -> bool:
    return course.workout_block(1).kind is BlockKind.MAX_LOAD


@lru_cache(maxsize=KEPT)
def _board(class_id: int, version: int, held: Snapshot) -> _Drawn:
    """A class's results and their draws, worked out once for each version of its board."""
    streamed = StreamedClass.objects.select_related("workout").get(pk=class_id)
    course, rules = course_of(streamed), rules_of(streamed)
    scores = Score.objects.filter(streamed_class=class_id)
    still = (
        scores.filter(fact__options="")
        .order_by()
        .values_list("credited", "seconds", "tie_key")
        .annotate(count=Count("pk"))
    )
    moving: list[_Listed] = list(
        scores.exclude(fact__options="")
        .order_by("key", "tie_key", "fact__mark", "fact__options")
        .values_list("fact__mark", "fact__options", "credited", "seconds", "key", "tie_key")
        .annotate(count=Count("pk"))
    )
    every = -(-len(moving) // MOST) if moving else 1
    if every > 1:  # the middle one of so many neighbours on the board stands for them all
        moving = [
            (*part[len(part) // 2][:6], sum(row[6] for row in part))
            for part in (moving[at : at + every] for at in range(0, len(moving), every))
        ]
    works, counts = [], []
    for credited, seconds, tie_key, count in still:
        works.append(_Work(_certain(course, credited), (), _cents(seconds), tie_key))
        counts.append(count)
    for mark, options, credited, seconds, _, tie_key, count in moving:
        works.append(_work(course, rules, mark, options, credited, seconds, tie_key))
        counts.append(count)
    pairs: dict[Pair, int] = {}
    for work in works:
        for pair, _ in work.parts:
            pairs.setdefault(pair, len(pairs))
    credits = drawn_credits(held.estimate, list(pairs), above_one=streamed.above_one)
    field, last = _field(works, counts, pairs), scores.aggregate(last=Max("fact"))["last"]
    return _Drawn(field, pairs, credits, sum(counts), last or 0)


def _certain(course: Course, credited: str) -> int:
    """What a result as prescribed counts, in the units of ``Field.certain``."""
    return _times(credited, CREDIT_SCALE * (10 if course.weighted else 1))


def _cents(seconds: str) -> int:
    return _times(seconds, 100)


@lru_cache(maxsize=50_000)
def _times(text: str, factor: int) -> int:
    """An exact figure as it is kept, times what makes it whole; many results have the same."""
    return int(text) * factor if text.isdigit() else int(Fraction(text) * factor)


def _work(
    course: Course, rules: Rules, mark: str, options: str, credited: str, seconds: str, tie_key: int
) -> _Work:
    if not options:
        return _Work(_certain(course, credited), (), _cents(seconds), tie_key)
    read = parse_mark(course, mark)
    choices = parse_choices(course, options)
    named = {
        (choice.line, choice_label(course.lines[choice.line], choice)): choice for choice in choices
    }
    certain, parts = 0, []
    for portion in portions(
        course, line_counts(course, read), choices, rules.table, above_one=rules.above_one
    ):
        line = course.lines[portion.line]
        weighed = portion.reps * line.weight
        if portion.prescribed:
            certain += weighed * CREDIT_SCALE
            continue
        choice = named[portion.line, portion.label]
        parts.append((Pair(way_of(line, choice), way_of(line), portion.credit), weighed))
    return _Work(certain, tuple(parts), _cents(seconds), tie_key)


def _field(works: list[_Work], counts: Iterable[int], pairs: dict[Pair, int]) -> Field:
    """Results as the core takes them."""
    rows, columns, amounts = [], [], []
    for number, work in enumerate(works):
        for pair, weighed in work.parts:
            rows.append(number)
            columns.append(pairs[pair])
            amounts.append(weighed)
    parts = sparse.coo_array(
        (np.array(amounts, dtype=np.int64), (rows, columns)), shape=(len(works), len(pairs))
    )

    def ints(values: Iterable[int]) -> Ints:
        return np.array(list(values), dtype=np.int64)

    return Field(
        certain=ints(work.certain for work in works),
        parts=sparse.csr_array(parts),
        seconds=ints(work.seconds for work in works),
        tie_key=ints(work.tie_key for work in works),
        count=ints(counts),
    )
