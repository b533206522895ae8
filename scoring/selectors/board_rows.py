"""Rows of a board: their order, their ranks, and what a viewer sees of each."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction

from django.db.models import CharField, Q, QuerySet, Value

from scoring import access, boards
from scoring.boards import View
from scoring.boards.database import entries
from scoring.core.figures import figure
from scoring.core.ranking import percentile
from scoring.models import Score, StreamedClass

from .names import ByLetters, NameKey
from .paces import decimal, pace

_SHOWN = (
    "key", "tie_key", "raw_reps", "credited", "performance", "as_prescribed", "adjusted_text",
    "adjusted_reps", "adjusted_seconds", "streamed_class_id", "result_id", "fact_id",
    "result__member_id", "result__streamed_class_id", "result__current_id",
    "result__member__display_name", "result__member__shown_as", "result__member__gym_id",
    "fact__mark", "fact__is_withdrawn",
)  # fmt: skip
"""Columns a row of a board shows or is gated by; the others would be read for nothing."""


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One line of a board. Figures are decimal texts; ``can_open`` says whether this
    viewer may open the breakdown."""

    rank: int
    result_id: int
    name: str
    is_own: bool
    can_open: bool
    mark_text: str
    raw_reps: int
    credited: str
    pace: str
    adjusted_text: str
    adjusted_reps: str | None
    adjusted_seconds: str | None
    as_prescribed: bool
    percentile: int | None


def ordered(streamed_class: StreamedClass, view: View) -> QuerySet[Score]:
    """Best first; inside a tie by display name. Nothing else may order a board."""
    return (
        entries(streamed_class.pk, view)
        .select_related("result__member", "fact")
        .only(*_SHOWN)
        .order_by(
            "-key",
            "tie_key",
            NameKey("result__member__display_name"),
            ByLetters("result__member__display_name"),
            "pk",
        )
    )


def position(streamed_class: StreamedClass, view: View, row: Score) -> int:
    """How many rows are shown before this one."""
    name = row.result.member.display_name
    before = Q(key__gt=row.key) | Q(key=row.key, tie_key__lt=row.tie_key)
    own = NameKey(Value(name, output_field=CharField()))
    spelt = ByLetters(Value(name, output_field=CharField()))
    ahead = Q(key=row.key, tie_key=row.tie_key) & (
        Q(shown__lt=own)
        | Q(shown=own, spelt__lt=spelt)
        | Q(shown=own, result__member__display_name=name, pk__lt=row.pk)
    )
    scores = entries(streamed_class.pk, view)
    return (
        scores.annotate(
            shown=NameKey("result__member__display_name"),
            spelt=ByLetters("result__member__display_name"),
        )
        .filter(before | ahead)
        .count()
    )


def _pair(score: Score) -> boards.Pair:
    return score.key, score.tie_key


def rows_of(
    streamed_class: StreamedClass,
    viewer: access.Viewer,
    scores: list[Score],
    standings: boards.Standings,
    *,
    start: int,
) -> list[BoardRow]:
    """Rows that follow each other on the board, the first after ``start`` others.

    Ranks are of the whole view, never of the page. Only of the first and the last row need
    the store be asked: whoever is not level with the row before is beaten by exactly the
    rows above, and those level with a row in between are all here.
    """
    sizes = Counter(_pair(score) for score in scores)
    rows: list[BoardRow] = []
    previous: boards.Pair | None = None
    for place, score in enumerate(scores, start=start + 1):
        pair = _pair(score)
        if pair != previous:
            previous = pair
            standing = standings.places.get(pair) or boards.Standing(place, sizes[pair])
        rows.append(_row(streamed_class, viewer, score, standing, standings.total))
    return rows


def ends(scores: list[Score]) -> list[boards.Pair]:
    return [_pair(score) for score in (*scores[:1], *scores[-1:])]


def _row(
    streamed_class: StreamedClass,
    viewer: access.Viewer,
    score: Score,
    standing: boards.Standing,
    total: int,
) -> BoardRow:
    return placed(line_of(streamed_class, viewer, score), standing, total)


def placed(line: BoardRow, standing: boards.Standing, total: int) -> BoardRow:
    """A line with its place among ``total`` entries."""
    rank, equal = standing.rank, standing.equal
    share = percentile(worse=total - (rank - 1) - equal, equal=equal, total=total)
    return replace(line, rank=rank, percentile=None if share is None else round(share))


def line_of(streamed_class: StreamedClass, viewer: access.Viewer, score: Score) -> BoardRow:
    """What a viewer sees of a score wherever it stands: a row that has no place yet."""
    member = score.result.member
    # result.streamed_class is this class: spare the gate a query for each row
    score.result.streamed_class = streamed_class
    score.result.current = score.fact  # what has a score is the current fact
    return BoardRow(
        rank=0,
        result_id=score.result_id,
        name=access.shown_name(viewer, member),
        is_own=viewer is not None and viewer.pk == member.pk,
        can_open=access.may_see_result(viewer, score.result),
        mark_text=score.fact.mark,
        raw_reps=score.raw_reps,
        credited=figure(Fraction(score.credited)),
        pace=pace(score, streamed_class),
        adjusted_text=score.adjusted_text,
        adjusted_reps=decimal(score.adjusted_reps),
        adjusted_seconds=decimal(score.adjusted_seconds),
        as_prescribed=score.as_prescribed,
        percentile=None,
    )
