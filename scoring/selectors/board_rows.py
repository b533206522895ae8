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

SHOWN = (
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
        .only(*SHOWN)
        .order_by(
            "-key",
            "tie_key",
            NameKey("result__member__display_name"),
            ByLetters("result__member__display_name"),
            "pk",
        )
    )


def own_row(streamed_class: StreamedClass, view: View, member_id: int) -> Score | None:
    """A member's score if the view lists it, found by the member and not by the order."""
    scores = ordered(streamed_class, view).order_by()  # one at most: nothing to order
    own = scores.filter(result__member=member_id, result__streamed_class=streamed_class)
    return next(iter(own[:1]), None)


def page_of(streamed_class: StreamedClass, view: View, offset: int, limit: int) -> list[Score]:
    """The scores from a place on. The store tells whose keys stand there, so that the database
    begins at them: what is above is neither read nor sorted, however far down it is."""
    scores = ordered(streamed_class, view)
    if not offset:
        return list(scores[:limit])
    spot = boards.store().spot(streamed_class, offset, view)
    if spot is None:
        return []
    key, tie_key = spot.pair
    below = scores.filter(key__lte=key).exclude(key=key, tie_key__lt=tie_key)
    into = max(0, offset - spot.before)
    # Thousands may be level: for those above the page only names are read.
    listed = list(below.values_list("pk", flat=True)[into : into + limit])
    return list(scores.filter(pk__in=listed))


def position(streamed_class: StreamedClass, view: View, row: Score, rank: int) -> int:
    """How many rows are shown before this one, which has that rank. Only those level with it
    are compared by name."""
    name = row.result.member.display_name
    own = NameKey(Value(name, output_field=CharField()))
    spelt = ByLetters(Value(name, output_field=CharField()))
    level = (
        entries(streamed_class.pk, view)
        .filter(key=row.key, tie_key=row.tie_key)
        .exclude(pk=row.pk)
        .annotate(
            shown=NameKey("result__member__display_name"),
            spelt=ByLetters("result__member__display_name"),
        )
    )
    ahead = (
        Q(shown__lt=own)
        | Q(shown=own, spelt__lt=spelt)
        | Q(shown=own, result__member__display_name=name, pk__lt=row.pk)
    )
    return rank - 1 + level.filter(ahead).count()


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
        rows.append(row_of(streamed_class, viewer, score, standing, standings.total))
    return rows


def ends(scores: list[Score]) -> list[boards.Pair]:
    return [_pair(score) for score in (*scores[:1], *scores[-1:])]


def row_of(
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
