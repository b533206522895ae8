"""Rows ↔ core values. The only translator between the two."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from .core import notation
from .core.course import Course
from .core.credits import CreditTable, choices_text, parse_choices
from .core.fitting import Setup as CoreSetup
from .core.marks import mark_text, parse_mark
from .core.prescription import Load
from .core.prescription import Workout as Prescription
from .core.schemes import Adjusted
from .core.scoring import Result as CoreResult
from .core.scoring import Rules, parse_splits, splits_text
from .core.scoring import Score as CoreScore
from .models import CreditTableVersion, Fact, Score, Setup, StreamedClass


@lru_cache(maxsize=512)
def prescription(text: str) -> Prescription:
    """The core's workout of a canonical text; texts never change, so it is kept."""
    return notation.parse(text).workout


@lru_cache(maxsize=512)
def course(text: str, weighted: bool) -> Course:
    """The course of a canonical text."""
    return Course(prescription(text), weighted=weighted)


def course_of(streamed_class: StreamedClass) -> Course:
    """The course of a class."""
    return course(streamed_class.workout.text, streamed_class.weighted)


@lru_cache(maxsize=256)
def credit_table(pk: int) -> CreditTable:
    """A version of a gym's credits; versions never change, so it is kept."""
    return CreditTable.from_dict(CreditTableVersion.objects.get(pk=pk).rules)


def rules_of(streamed_class: StreamedClass, table: CreditTableVersion | None = None) -> Rules:
    """What a class scores by; ``table`` tries another version of the credits."""
    return Rules(
        table=CreditTable.from_dict(table.rules)
        if table
        else credit_table(streamed_class.credit_table_id),
        above_one=streamed_class.above_one,
        tie_break_block=streamed_class.tie_break_block,
    )


def core_result(course: Course, fact: Fact) -> CoreResult:
    """A stored fact as the core's result."""
    return CoreResult(
        mark=parse_mark(course, fact.mark),
        choices=parse_choices(course, fact.options),
        splits=parse_splits(course, fact.splits),
    )


def fact_texts(course: Course, result: CoreResult) -> dict[str, str]:
    """The canonical texts a fact is stored as."""
    return {
        "mark": mark_text(course, result.mark),
        "options": choices_text(course, result.choices),
        "splits": splits_text(result.splits),
    }


def read_unbroken(text: str) -> dict[str, int]:
    """The longest unbroken sets that a fact notes, by line."""
    parts = (part.partition(" ") for part in text.split("; ") if part)
    return {number: int(reps) for number, _, reps in parts}


def score_fields(score: CoreScore) -> dict[str, object]:
    """The derived columns of a score row."""
    adjusted = score.adjusted
    return {
        "raw_reps": score.raw_reps,
        "credited": str(score.credited),
        "seconds": str(score.seconds),
        "performance": str(score.performance),
        "key": score.key,
        "tie_key": score.tie_key,
        "as_prescribed": score.as_prescribed,
        "adjusted_text": adjusted.text,
        "adjusted_reps": None if adjusted.reps is None else str(adjusted.reps),
        "adjusted_seconds": None if adjusted.seconds is None else str(adjusted.seconds),
    }


def adjusted_of(row: Score) -> Adjusted:
    """A stored score's adjusted mark, exact again."""
    return Adjusted(
        row.adjusted_text,
        None if row.adjusted_reps is None else Fraction(row.adjusted_reps),
        None if row.adjusted_seconds is None else Fraction(row.adjusted_seconds),
    )


def load_of(text: str) -> Load:
    """A weight written as ``16 kg`` or ``35 lb``.

    Raises ``ValueError`` for anything else.
    """
    amount, _, unit = text.partition(" ")
    return Load((Fraction(amount),), unit)


def setup_of(row: Setup | None) -> CoreSetup:
    """What a member told, as the core takes it."""
    if row is None:
        return CoreSetup()
    return CoreSetup(
        pieces=frozenset(row.pieces) if row.has_told_gear else None,
        loads={piece: tuple(load_of(t) for t in texts) for piece, texts in row.loads.items()},
        usual=dict(row.usual),
    )
