"""The board store of the embedded default: sums over steps, and counts within one of them.

A rank is 1 + all entries of the steps above (a few hundred rows that the database keeps by
itself, see scoring/models/board_steps.py) + those better in the own step, which the board's
index counts without reading the table. So it costs the same wherever somebody stands.
"""

from __future__ import annotations

from collections.abc import Collection

from django.db import connection
from django.db.models import QuerySet, Sum

from scoring.core.ranking import MAX_KEY
from scoring.models import BoardStep, Score, StreamedClass
from scoring.models.board_steps import STEP

from .base import BoardStore, Pair, Spot, Standing, Standings, View

# Only names of our own and marks for values are put into these.
# For each pair: its keys, its step and the greatest key of that.
_PAIR = "(CAST(%s AS bigint), CAST(%s AS bigint), CAST(%s AS bigint), CAST(%s AS bigint))"
_OF_VIEW = {"all": "", "prescribed": "AND as_prescribed", "scaled": "AND NOT as_prescribed"}
_SCORES = "SELECT COUNT(*) FROM scoring_score s WHERE s.streamed_class_id = %s {view}"
_TOTAL = """
    SELECT COALESCE(SUM(b.entries), 0) FROM scoring_boardstep b
    WHERE b.streamed_class_id = %s {view}"""
_STANDINGS = (
    "WITH p (key, tie_key, step, last) AS (VALUES {pairs}) SELECT p.key, p.tie_key, "  # noqa: S608
    f"({_TOTAL} AND b.step > p.step) "
    f"+ ({_SCORES} AND s.key > p.key AND s.key <= p.last) "
    f"+ ({_SCORES} AND s.key = p.key AND s.tie_key < p.tie_key), "
    f"({_SCORES} AND s.key = p.key AND s.tie_key = p.tie_key), "
    f"({_TOTAL}) FROM p"
)


def entries(streamed_class_id: int, view: View) -> QuerySet[Score]:
    """The scores of a view of a class's board, in no order."""
    scores = Score.objects.filter(streamed_class_id=streamed_class_id)
    if view == "all":
        return scores
    return scores.filter(as_prescribed=view == "prescribed")


def steps(streamed_class_id: int, view: View) -> QuerySet[BoardStep]:
    """The steps of a view of a class's board that have entries, in no order."""
    found = BoardStep.objects.filter(streamed_class_id=streamed_class_id, entries__gt=0)
    if view == "all":
        return found
    return found.filter(as_prescribed=view == "prescribed")


def _last(step: int) -> int:
    return min((step + 1) * STEP - 1, MAX_KEY)


class DatabaseBoards(BoardStore):
    """Keeps nothing of its own, so there is nothing to put, remove or forget."""

    def put(self, score: Score, *, version: int) -> None:
        """Nothing to do: the score row is the entry."""

    def remove(self, score: Score, *, version: int) -> None:
        """Nothing to do: the score row is the entry."""

    def moved_on(self, streamed_class_id: int, *, version: int) -> None:
        """Nothing to do: no version is kept."""

    def forget(self, streamed_class_id: int) -> None:
        """Nothing to do: nothing is kept."""

    def standings(
        self, streamed_class: StreamedClass, pairs: Collection[Pair], view: View
    ) -> Standings:
        """All counts in one query."""
        listed = list(dict.fromkeys(pairs))
        if not listed:
            total = steps(streamed_class.pk, view).aggregate(n=Sum("entries"))["n"]
            return Standings(total or 0, {})
        asked: list[int] = []
        for key, tie_key in listed:
            step = key // STEP
            asked += (key, tie_key, step, _last(step))
        sql = _STANDINGS.format(
            pairs=", ".join([_PAIR] * len(listed)),
            view=_OF_VIEW[view],
        )
        with connection.cursor() as cursor:
            cursor.execute(sql, [*asked, *[streamed_class.pk] * 5])
            rows = cursor.fetchall()
        return Standings(
            int(rows[0][4]),
            {(key, tie): Standing(1 + int(better), int(n)) for key, tie, better, n, _ in rows},
        )

    def spot(self, streamed_class: StreamedClass, place: int, view: View) -> Spot | None:
        """Steps are passed over whole; only inside the last one are entries."""
        above = 0
        sizes = steps(streamed_class.pk, view).values_list("step").annotate(n=Sum("entries"))
        found_in = None
        for step, size in sizes.order_by("-step"):
            if above + size > place:
                found_in = step
                break
            above += size
        if found_in is None:
            return None
        own = entries(streamed_class.pk, view).filter(
            key__gte=found_in * STEP, key__lte=_last(found_in)
        )
        at = place - above
        found = own.order_by("-key", "tie_key").values_list("key", "tie_key")[at : at + 1]
        for key, tie_key in found:
            rank = self.standings(streamed_class, [(key, tie_key)], view).places[key, tie_key].rank
            return Spot((key, tie_key), rank - 1)
        return None
