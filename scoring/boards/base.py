"""What every board store can do."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

from scoring.models import Score, StreamedClass

View = Literal["all", "prescribed", "scaled"]
VIEWS: tuple[View, ...] = ("all", "prescribed", "scaled")


Pair = tuple[int, int]
"""``key`` and ``tie_key`` of a score, see scoring/core/ranking.py."""


@dataclass(frozen=True, slots=True)
class Standing:
    """``rank`` is 1 + the number of strictly better entries, ``equal`` how many share it."""

    rank: int
    equal: int


@dataclass(frozen=True, slots=True)
class Spot:
    """The pair of keys at some place of a view, and how many entries are strictly better."""

    pair: Pair
    before: int


@dataclass(frozen=True, slots=True)
class Standings:
    """What a view of a board counts: ``total`` entries, and where some pairs of keys stand."""

    total: int
    places: dict[Pair, Standing]


class BoardStore(ABC):
    """Counts ranks by the two integer keys of scores, and nothing else."""

    @abstractmethod
    def put(self, score: Score, *, version: int) -> None:
        """Take in a score that was committed with the class's ``board_version``."""

    @abstractmethod
    def remove(self, score: Score, *, version: int) -> None:
        """Take a score out that was deleted with this ``board_version``."""

    @abstractmethod
    def moved_on(self, streamed_class_id: int, *, version: int) -> None:
        """Note a version that left every score as it was, such as a member's new name."""

    @abstractmethod
    def forget(self, streamed_class_id: int) -> None:
        """Drop what is kept of a class; it is derived again when next asked for."""

    @abstractmethod
    def standings(
        self, streamed_class: StreamedClass, pairs: Collection[Pair], view: View
    ) -> Standings:
        """Where each pair of keys stands in the view, and how many entries it has."""

    @abstractmethod
    def spot(self, streamed_class: StreamedClass, place: int, view: View) -> Spot | None:
        """What stands ``place`` entries below the top of a view, ``None`` beyond its end."""
