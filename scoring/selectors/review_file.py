"""Everybody's result of a class for a spreadsheet."""

from __future__ import annotations

import csv
from fractions import Fraction
from io import StringIO

from scoring.core.cells import escape_formula
from scoring.core.figures import figure
from scoring.core.prescription import clock_text

from .paces import pace
from .review import Review

HEADER = (
    "name",
    "mark",
    "raw_reps",
    "credited",
    "pace_per_minute",
    "as_prescribed",
    "adjusted",
    "options",
    "splits",
    "effort",
    "note",
    "mark_last_time",
    "options_last_time",
    "change_percent",
)


def review_file(found: Review) -> str:
    """CSV, the furthest first (RFC 4180: lines end with CR LF). What hurts is not in it:
    that is not for a file that gets handed around."""
    last = found.before.last
    then = {t.row.score.pk: t for t in last.both} if last else {}
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(HEADER)
    for row in found.rows:
        score, fact, earlier = row.score, row.score.fact, then.get(row.score.pk)
        splits = "; ".join(
            f"block {number} {clock_text(split)}" for number, split in sorted(row.splits.items())
        )
        percent = earlier.percent if earlier else None
        writer.writerow(
            [
                escape_formula(row.name),
                escape_formula(fact.mark),
                score.raw_reps,
                figure(Fraction(score.credited)),
                pace(score, found.streamed_class),
                "yes" if score.as_prescribed else "no",
                escape_formula(score.adjusted_text),
                escape_formula(row.options),
                escape_formula(splits),
                "" if fact.effort is None else fact.effort,
                escape_formula(fact.note),
                escape_formula(earlier.before.fact.mark) if earlier else "",
                escape_formula(earlier.options_then) if earlier else "",
                "" if percent is None else f"{percent:.1f}",
            ]
        )
    return out.getvalue()
