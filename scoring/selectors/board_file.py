"""The whole board as rows of a file, one after the other and never all of them at once."""

from __future__ import annotations

from collections.abc import Iterator

from scoring import access, boards
from scoring.boards import View
from scoring.core.cells import escape_formula
from scoring.models import StreamedClass

from .board_rows import ordered, row_of

CHUNK = 1_000


def export_rows(
    *, streamed_class: StreamedClass, viewer: access.Viewer, view: View = "all"
) -> Iterator[dict[str, object]]:
    """Every row of the board, names escaped so that no spreadsheet runs them.

    Who may see it is asked at once, rows are read as they are taken: by one statement, so that
    a file is of one moment however long it takes.
    """
    if not access.may_see_class(viewer, streamed_class):
        return iter(())
    return _rows(streamed_class, viewer, view)


def _rows(
    streamed_class: StreamedClass, viewer: access.Viewer, view: View
) -> Iterator[dict[str, object]]:
    previous: boards.Pair | None = None
    rank = 0
    scores = ordered(streamed_class, view).iterator(chunk_size=CHUNK)
    for place, score in enumerate(scores, start=1):
        pair = (score.key, score.tie_key)
        if pair != previous:  # all that are better have gone before
            previous, rank = pair, place
        row = row_of(streamed_class, viewer, score, boards.Standing(rank, 1), place)
        yield {
            "rank": row.rank,
            "name": escape_formula(row.name),
            "mark": escape_formula(row.mark_text),
            "raw_reps": row.raw_reps,
            "credited_reps": row.credited,
            "pace_per_minute": row.pace,
            "as_prescribed": "yes" if row.as_prescribed else "no",
            "adjusted": escape_formula(row.adjusted_text),
        }
