"""Everybody's result of a class as the review takes it: read once, scored by the core once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from scoring import access
from scoring.core.course import Course
from scoring.core.credits import Portion, choices_words, portions
from scoring.core.crowd import Stop, by_order, place_words, stop_of
from scoring.core.marks import Mark
from scoring.core.scoring import Rules, line_counts
from scoring.mapping import core_result, course_of, rules_of
from scoring.models import Score, StreamedClass


@dataclass(frozen=True, slots=True)
class Row:
    """One result. ``place`` is the mark in words; ``options`` are without line numbers."""

    score: Score
    name: str
    stop: Stop
    mark: Mark
    place: str
    options: str
    splits: Mapping[int, Fraction]
    portions: tuple[Portion, ...]

    @property
    def result_id(self) -> int:
        return self.score.result_id

    @property
    def member_id(self) -> int:
        return self.score.result.member_id

    @property
    def performance(self) -> Fraction:
        return Fraction(self.score.performance)


def rows_of(streamed_class: StreamedClass, viewer: access.Viewer) -> list[Row]:
    """Everybody on the board, the furthest first; one query."""
    scores = (
        Score.objects.filter(streamed_class=streamed_class)
        .select_related("result__member", "fact")
        .order_by("pk")
    )
    course, rules = course_of(streamed_class), rules_of(streamed_class)
    found = {score.pk: _row(course, rules, score, viewer) for score in scores}
    ordered = by_order(row.stop for row in found.values())
    return [found[stop.id] for stop in reversed(ordered)]


def _row(course: Course, rules: Rules, score: Score, viewer: access.Viewer) -> Row:
    result = core_result(course, score.fact)
    stop = stop_of(course, result.mark, id=score.pk, prescribed=score.as_prescribed)
    parts = portions(
        course,
        line_counts(course, result.mark),
        result.choices,
        rules.table,
        above_one=rules.above_one,
    )
    return Row(
        score=score,
        name=access.shown_name(viewer, score.result.member),
        stop=stop,
        mark=result.mark,
        place=place_words(course, stop),
        options=choices_words(course, score.fact.options),
        splits=result.splits,
        portions=tuple(parts),
    )
