"""Rows made ready for fitting: what never changes while figures are tried."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from .assumptions import REFERENCE_SECONDS
from .filtering import Walks
from .rows import Rows
from .ways import Floats, Ints, Ways


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """The rows that tell something, grouped by result, state and member.

    A state is a member on a day. Rows of no work at all are left out, and with them results
    that have no other: no rep done says nothing of pace.

    Attributes
    ----------
    ways : Ways
    kept : (N,) ints
        Positions in the given results of those that are fitted.
    class_ : (N,) ints
    classes : int
    state : (N,) ints, not falling
    walks : Walks
        States of each member, one walk each, also for members without any.
    day : (S,) floats
    row_start : (N,) ints
        Where each result's rows begin.
    per_result : (N,) ints
        How many rows each result has.
    of_row : (R,) ints
        The result of each row.
    log_seconds : (R,) floats
        Log of elapsed time against ``REFERENCE_SECONDS``.
    stop : (R,) ints
    counts : (R, P) sparse floats, all more than 0
    log_counts : floats, logs of its data
    """

    ways: Ways
    kept: Ints
    class_: Ints
    classes: int
    state: Ints
    walks: Walks
    day: Floats
    row_start: Ints
    per_result: Ints
    of_row: Ints
    log_seconds: Floats
    stop: Ints
    counts: sparse.csr_array
    log_counts: Floats

    def __len__(self) -> int:
        return len(self.kept)

    @property
    def has_splits(self) -> bool:
        """Whether any result has more than one row."""
        return len(self.of_row) > len(self.kept)

    def results_start(self) -> Ints:
        """(M + 1,) where each member's results begin."""
        states = np.searchsorted(self.state, self.walks.start)
        return states.astype(np.int64)


def problem(ways: Ways, rows: Rows) -> Problem:
    """Make rows ready.

    Raises
    ------
    ValueError
        For rows out of order, or times that are not more than 0.
    """
    if np.any(np.diff(rows.result) < 0) or np.any(np.diff(rows.member) < 0):
        raise ValueError("Rows are sorted by result, results by member.")
    same = np.diff(rows.member) == 0
    if np.any(np.diff(rows.day)[same] < 0):
        raise ValueError("A member's results are sorted by day.")
    if not np.all(rows.seconds > 0):
        raise ValueError("Elapsed times are more than 0.")
    counts = sparse.csr_array(rows.counts, dtype=np.float64)
    counts.sort_indices()
    counts.eliminate_zeros()
    told = np.diff(counts.indptr) > 0
    counts = counts[told]
    result = rows.result[told]
    kept, of_row, per_result = np.unique(result, return_inverse=True, return_counts=True)
    member, day = rows.member[kept], rows.day[kept]
    new = np.ones(len(kept), dtype=bool)
    new[1:] = (member[1:] != member[:-1]) | (day[1:] != day[:-1])
    state_member, state_day = member[new], day[new]
    start = np.searchsorted(state_member, np.arange(rows.members + 1)).astype(np.int64)
    elapsed = np.zeros(len(state_day))
    elapsed[1:] = np.where(state_member[1:] == state_member[:-1], np.diff(state_day), 0.0)
    return Problem(
        ways=ways,
        kept=kept.astype(np.int64),
        class_=rows.class_[kept],
        classes=rows.classes,
        state=np.cumsum(new).astype(np.int64) - 1,
        walks=Walks(start, elapsed),
        day=state_day,
        row_start=np.concatenate([[0], np.cumsum(per_result)[:-1]]).astype(np.int64)
        if len(kept)
        else np.zeros(0, dtype=np.int64),
        per_result=per_result.astype(np.int64),
        of_row=of_row.astype(np.int64),
        log_seconds=np.log(rows.seconds[told] / REFERENCE_SECONDS),
        stop=rows.stop[told],
        counts=counts,
        log_counts=np.log(counts.data),
    )


def part_of(whole: Problem, members: Ints) -> Problem:
    """The problem of some members alone, in rising order; ways and classes stay as they are."""
    starts = whole.results_start()
    results = np.concatenate([np.arange(starts[m], starts[m + 1]) for m in members])
    row_of = np.concatenate(
        [
            np.arange(a, a + n)
            for a, n in zip(whole.row_start[results], whole.per_result[results], strict=True)
        ]
    )
    counts = whole.counts[row_of]
    walks = whole.walks
    states = np.concatenate([np.arange(walks.start[m], walks.start[m + 1]) for m in members])
    lengths = np.diff(walks.start)[members]
    per_result = whole.per_result[results]
    renumbered = np.full(len(whole.day), -1, dtype=np.int64)
    renumbered[states] = np.arange(len(states))
    return Problem(
        ways=whole.ways,
        kept=whole.kept[results],
        class_=whole.class_[results],
        classes=whole.classes,
        state=renumbered[whole.state[results]],
        walks=Walks(np.concatenate([[0], np.cumsum(lengths)]), walks.elapsed[states]),
        day=whole.day[states],
        row_start=np.cumsum(per_result) - per_result,
        per_result=per_result,
        of_row=np.repeat(np.arange(len(results)), per_result),
        log_seconds=whole.log_seconds[row_of],
        stop=whole.stop[row_of],
        counts=counts,
        log_counts=np.log(counts.data),
    )
