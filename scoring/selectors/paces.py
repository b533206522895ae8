"""A stored score's figures as text."""

from __future__ import annotations

from fractions import Fraction

from scoring.core.figures import figure
from scoring.mapping import course_of
from scoring.models import Score, StreamedClass


def pace(score: Score, streamed_class: StreamedClass) -> str:
    """Credited reps a minute; in a strength piece, which has no clock, kilograms."""
    return figure(Fraction(score.performance) * (60 if course_of(streamed_class).limit else 1))


def decimal(value: str | None) -> str | None:
    """An exact figure as a decimal of three to six places, whole numbers bare."""
    return None if value is None else figure(Fraction(value), least=3, most=6)
