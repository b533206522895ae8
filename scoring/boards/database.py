"""The board store of the embedded default: counts over the board's index."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from scoring.models import Score, StreamedClass

from .base import BoardStore, View


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

    def rank(self, streamed_class: StreamedClass, key: int, tie_key: int, view: View) -> int:
        """1 + the number of strictly better entries of the view."""
        better = Q(key__gt=key) | Q(key=key, tie_key__lt=tie_key)
        return 1 + entries(streamed_class.pk, view).filter(better).count()

    def total(self, streamed_class: StreamedClass, view: View) -> int:
        """How many entries the view has."""
        return entries(streamed_class.pk, view).count()
