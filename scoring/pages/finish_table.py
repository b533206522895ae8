"""How many finish by when, as a few rows of a table and the words above it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from scoring.core import compare_words as words
from scoring.core.finishing import Finishing
from scoring.core.prescription import clock_text
from scoring.selectors.finishing import Finishers

from .interval_bar import unbroken

STEPS = (15, 30, 60, 120, 300, 600, 1800, 3600)
MOST_ROWS = 8


@dataclass(frozen=True, slots=True)
class FinishRow:
    """``told`` is the share in words, ``people`` how many tell of it."""

    clock: str
    told: str
    people: int


@dataclass(frozen=True, slots=True)
class FinishTable:
    """``half`` and ``from_`` are sentences."""

    rows: tuple[FinishRow, ...]
    half: str
    from_: str


def finish_table(found: Finishers) -> FinishTable:
    """Rows at round times from about the first finish to the last that is known."""
    curve = found.curve
    return FinishTable(
        tuple(_row(curve, time) for time in _clocks(curve)), _half(curve), _from(found)
    )


def _clocks(curve: Finishing) -> list[Fraction]:
    last = curve.known_until or (curve.times[-1] if curve.times else Fraction(0))
    if not curve.times:
        return [last]
    first = curve.times[0]
    if curve.known_until is None:
        last = Fraction(ceil(last / STEPS[0]) * STEPS[0])
    for step in STEPS:
        begin = ceil(first / step) * step
        within = [Fraction(at) for at in range(begin, ceil(last), step)]
        if len(within) < MOST_ROWS:
            break
    return [*within[: MOST_ROWS - 1], last]


def _row(curve: Finishing, time: Fraction) -> FinishRow:
    got = curve.by(time)
    if got is None or got.value is None or got.low is None or got.high is None:
        return FinishRow(clock_text(time), "not known", 0)
    if got.is_from_few:
        told = f"from {words.people(got.n)}: too few to say"
    else:
        told = (
            f"{words.percent(got.value)} %, very likely {words.percent(got.low)} to "
            f"{words.percent(got.high)} %"
        )
    return FinishRow(clock_text(time), unbroken(told), got.n)


def _half(curve: Finishing) -> str:
    if not curve.times:
        return "Nobody has finished yet."
    if curve.half is None:
        return "Fewer than half have finished."
    return f"Half have finished by {clock_text(curve.half)}."


def _from(found: Finishers) -> str:
    runs = f"{found.runs} run{'' if found.runs == 1 else 's'}"
    clocks = [clock_text(cap) for cap in found.caps]
    under = clocks[0] if len(clocks) == 1 else f"{', '.join(clocks[:-1])} or {clocks[-1]}"
    return (
        f"From the latest result of each of {words.people(found.curve.people)}, "
        f"in {runs} with a cap of {under}."
    )
