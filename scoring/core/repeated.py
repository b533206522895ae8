"""Scoring many results of one course: what many of them share is worked out once.

Members of a class were caught at the same few hundred places with the same few options, so a
mark and options told as texts are read and scored once and kept. Splits are a member's own;
they move nothing of a score but what breaks its tie.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from .course import Course, PlaceError
from .credits import parse_choices
from .marks import parse_mark
from .ranking import NO_SPLIT
from .scoring import Result, Rules, Score, check_splits, parse_splits, score, tie_key_of

MOST = 20_000
"""Scores kept at a time: some ten megabytes."""


class Repeated:
    """Scores results of one course by one set of rules.

    Parameters
    ----------
    scoring
        What scores one result, ``core.scoring.score``.
    """

    def __init__(
        self,
        course: Course,
        rules: Rules,
        scoring: Callable[[Course, Result, Rules], Score] = score,
    ) -> None:
        self._course, self._rules, self._scoring = course, rules, scoring
        self._kept: dict[tuple[str, str], Score] = {}
        self._parts: dict[str, _Split] = {}

    def __call__(self, mark: str, options: str, splits: str) -> tuple[Score, int]:
        """The score of three canonical texts but for its splits, and its tie key with them.

        Raises
        ------
        MarkError, ChoiceError, ScoringError
            As reading and scoring that one result would.
        """
        found = self._kept.get((mark, options))
        if found is None:
            if len(self._kept) >= MOST:
                self._kept.clear()
            course = self._course
            result = Result(parse_mark(course, mark), parse_choices(course, options))
            found = self._kept[mark, options] = self._scoring(course, result, self._rules)
        if not splits:
            return found, found.tie_key
        # A score without splits has this tie key only where a split would have broken the tie.
        unbroken = 0 if found.tie_key == NO_SPLIT else found.tie_key
        return found, tie_key_of(unbroken, self._splits(splits, found), self._rules)

    def _splits(self, text: str, found: Score) -> dict[int, Fraction]:
        """Splits read and checked; each part is one of some hundred and read once."""
        read: dict[int, Fraction] = {}
        last, before, most = 0, 0, found.seconds * 100
        for part in text.split("; "):
            split = self._parts.get(part) or self._part(part)
            if split is None or not (
                split.number > last
                and 0 < split.end <= found.raw_reps
                and before < split.hundredths <= most
            ):
                break
            last, before = split.number, split.hundredths
            read[last] = split.seconds
        else:
            return read
        # Not as they are stored, or they can't be: the core's own words for it.
        read = parse_splits(self._course, text)
        check_splits(self._course, read, found.raw_reps, found.seconds)
        return read

    def _part(self, text: str) -> _Split | None:
        if not text.startswith("block "):
            return None
        [(number, seconds)] = parse_splits(self._course, text).items()
        try:
            end = self._course.block_end(number)
        except PlaceError:
            return None
        if len(self._parts) >= MOST:
            self._parts.clear()
        split = _Split(number, seconds, seconds.numerator * 100 // seconds.denominator, end)
        self._parts[text] = split
        return split


class _Split(NamedTuple):
    """A split, the same in hundredths of a second, and where on the course its block ends."""

    number: int
    seconds: Fraction
    hundredths: int
    end: int
