"""The board store of the embedded default: counts over the board's index."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import Count, Q, QuerySet

from scoring.models import Score, StreamedClass

from .base import BoardStore, Pair, Standing, Standings, View


def entries(streamed_class_id: int, view: View) -> QuerySet[Score]:
    """The scores of a view of a class's board, in no order."""
    scores = Score.objects.filter(streamed_class_id=streamed_class_id)
    if view == "all":
        return scores
    return scores.filter(as_prescribed=view == "prescribed")


class DatabaseBoards(BoardStore):
    """Keeps nothing of its own, so there is nothing to put, remove or forget."""

    def put(self, score: Score, *, version: int) -> None:
        """Nothing to do: the score row is the entry."""

    def remove(self, score: Score, *, version: int) -> None:
        """Nothing to do: the score row is the entry."""

    def forget(self, streamed_class_id: int) -> None:
        """Nothing to do: nothing is kept."""

    def standings(
        self, streamed_class: StreamedClass, pairs: Collection[Pair], view: View
    ) -> Standings:
        """All counts in one query."""
        listed = list(dict.fromkeys(pairs))
        counts: dict[str, Count] = {"total": Count("pk")}
        for number, (key, tie_key) in enumerate(listed):
            better = Q(key__gt=key) | Q(key=key, tie_key__lt=tie_key)
            counts[f"better_{number}"] = Count("pk", filter=better)
            counts[f"equal_{number}"] = Count("pk", filter=Q(key=key, tie_key=tie_key))
        found = entries(streamed_class.pk, view).aggregate(**counts)
        return Standings(
            found["total"],
            {
                pair: Standing(1 + found[f"better_{number}"], found[f"equal_{number}"])
                for number, pair in enumerate(listed)
            },
        )
