"""What every board store can do."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Literal

from scoring.models import Score, StreamedClass

View = Literal["all", "prescribed", "scaled"]
VIEWS: tuple[View, ...] = ("all", "prescribed", "scaled")


class BoardStore(ABC):
    """Counts ranks by the two integer keys of scores, and nothing else."""

    @abstractmethod
    def put(self, score: Score, *, version: int) -> None:
        """Take in a score that was committed with the class's ``board_version``."""

    @abstractmethod
    def remove(self, score: Score, *, version: int) -> None:
        """Take a score out that was deleted with this ``board_version``."""

    @abstractmethod
    def forget(self, streamed_class_id: int) -> None:
        """Drop what is kept of a class; it is derived again when next asked for."""

    @abstractmethod
    def rank(self, streamed_class: StreamedClass, key: int, tie_key: int, view: View) -> int:
        """1 + the number of strictly better entries of the view."""

    @abstractmethod
    def total(self, streamed_class: StreamedClass, view: View) -> int:
        """How many entries the view has."""
