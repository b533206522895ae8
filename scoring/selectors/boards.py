"""A class's board as a viewer may see it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from django.db.models import CharField, Count, Q, QuerySet, Value

from scoring import access, boards
from scoring.boards import View
from scoring.boards.database import entries
from scoring.core.figures import figure
from scoring.core.ranking import percentile
from scoring.models import Score, StreamedClass

from .names import NameKey
from .paces import decimal, pace

PAGE = 50
MAX_PAGE = 200
AROUND = 2


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


@dataclass(frozen=True, slots=True)
class Board:
    """A page of a board. ``own`` is the viewer's row wherever it stands, ``neighbours``
    the rows around it (own row included); ``version`` changes when anything shown may."""

    rows: list[BoardRow]
    total: int
    offset: int
    limit: int
    view: View
    own: BoardRow | None
    neighbours: list[BoardRow]
    version: str
    as_of: datetime


def board_version(streamed_class: StreamedClass, viewer: access.Viewer) -> str:
    """A short text that changes whenever what this viewer sees of the board may change."""
    who = viewer.pk if viewer else 0
    role = viewer.role if viewer else ""
    return f"{streamed_class.pk}.{streamed_class.board_version}.{streamed_class.state}.{who}.{role}"


def _ordered(streamed_class: StreamedClass, view: View) -> QuerySet[Score]:
    """Best first; inside a tie by display name. Nothing else may order a board."""
    return (
        entries(streamed_class.pk, view)
        .select_related("result__member", "fact")
        .order_by(
            "-key",
            "tie_key",
            NameKey("result__member__display_name"),
            "result__member__display_name",
            "pk",
        )
    )


def _position(streamed_class: StreamedClass, view: View, row: Score) -> int:
    """How many rows are shown before this one."""
    name = row.result.member.display_name
    before = Q(key__gt=row.key) | Q(key=row.key, tie_key__lt=row.tie_key)
    tied = Q(key=row.key, tie_key=row.tie_key)
    scores = entries(streamed_class.pk, view)
    own = NameKey(Value(name, output_field=CharField()))
    same = scores.filter(tied).annotate(name=NameKey("result__member__display_name"))
    ahead = same.filter(
        Q(name__lt=own)
        | Q(name=own, result__member__display_name__lt=name)
        | Q(name=own, result__member__display_name=name, pk__lt=row.pk)
    ).count()
    return scores.filter(before).count() + ahead


def _rows(
    streamed_class: StreamedClass,
    viewer: access.Viewer,
    view: View,
    scores: list[Score],
    total: int,
) -> list[BoardRow]:
    """Ranks counted over the whole view, never over the page."""
    store = boards.store()
    keys = {(s.key, s.tie_key) for s in scores}
    sizes = {
        (row["key"], row["tie_key"]): row["n"]
        for row in entries(streamed_class.pk, view)
        .filter(key__in={key for key, _ in keys})
        .values("key", "tie_key")
        .annotate(n=Count("pk"))
        .order_by()
    }
    ranks: dict[tuple[int, int], int] = {}
    following: int | None = None
    rows = []
    for score in scores:
        pair = (score.key, score.tie_key)
        if pair not in ranks:
            ranks[pair] = following or store.rank(streamed_class, *pair, view)
        equal = sizes.get(pair, 1)
        following = ranks[pair] + equal
        rows.append(_row(streamed_class, viewer, score, ranks[pair], equal, total))
    return rows


def _row(
    streamed_class: StreamedClass,
    viewer: access.Viewer,
    score: Score,
    rank: int,
    equal: int,
    total: int,
) -> BoardRow:
    member = score.result.member
    share = percentile(worse=total - (rank - 1) - equal, equal=equal, total=total)
    # result.streamed_class is this class: spare the gate a query for each row
    score.result.streamed_class = streamed_class
    score.result.current = score.fact  # what has a score is the current fact
    return BoardRow(
        rank=rank,
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
        percentile=None if share is None else round(share),
    )


def board(
    *,
    streamed_class: StreamedClass,
    viewer: access.Viewer,
    now: datetime,
    view: View = "all",
    offset: int = 0,
    limit: int = PAGE,
) -> Board | None:
    """A page of a class's board, ``None`` if the viewer may not see the class.

    In a filtered view only those listed are ranked and counted among; nobody's score
    changes by it.
    """
    if not access.may_see_class(viewer, streamed_class):
        return None
    offset, limit = max(0, offset), max(1, min(limit, MAX_PAGE))
    total = boards.store().total(streamed_class, view)
    ordered = _ordered(streamed_class, view)
    rows = _rows(streamed_class, viewer, view, list(ordered[offset : offset + limit]), total)
    own_score = ordered.filter(result__member=viewer).first()
    own, neighbours = None, []
    if own_score is not None:
        start = max(0, _position(streamed_class, view, own_score) - AROUND)
        near = list(ordered[start : start + 2 * AROUND + 1])
        neighbours = _rows(streamed_class, viewer, view, near, total)
        own = next((row for row in [*neighbours, *rows] if row.is_own), None)
        own = own or _rows(streamed_class, viewer, view, [own_score], total)[0]
    return Board(
        rows=rows,
        total=total,
        offset=offset,
        limit=limit,
        view=view,
        own=own,
        neighbours=neighbours,
        version=board_version(streamed_class, viewer),
        as_of=now,
    )


def export_rows(
    *, streamed_class: StreamedClass, viewer: access.Viewer, view: View = "all"
) -> list[dict[str, object]]:
    """Every row of the board for a file, names escaped so that no spreadsheet runs them."""
    if not access.may_see_class(viewer, streamed_class):
        return []
    scores = list(_ordered(streamed_class, view))
    return [
        {
            "rank": row.rank,
            "name": escape_formula(row.name),
            "mark": escape_formula(row.mark_text),
            "raw_reps": row.raw_reps,
            "credited_reps": row.credited,
            "pace_per_minute": row.pace,
            "as_prescribed": "yes" if row.as_prescribed else "no",
            "adjusted": escape_formula(row.adjusted_text),
        }
        for row in _rows(streamed_class, viewer, view, scores, len(scores))
    ]


def escape_formula(text: str) -> str:
    """Text that a spreadsheet shows and never runs (OWASP ASVS 5.0.0, 1.2.10)."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r", "\0") else text
