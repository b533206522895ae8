"""What is left of each time when the work behind it is taken out, and how it moves with costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from .assumptions import REFERENCE_SECONDS
from .problem import Problem
from .ways import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Residuals:
    """Log times less what the work explains.

    A result's rows share their member, their class and most of their noise, so they are
    turned into their mean (``level``), which tells of these, and what each row lies from it
    (``shape``), which tells of costs and of γ alone. For rows whose noise is equally
    correlated the two are independent.

    Attributes
    ----------
    log_work : (R,) floats
        log(W / ``REFERENCE_SECONDS``).
    shares : (R, P) sparse floats
        How much of the work each way is: the derivative of ``log_work``.
    level : (N,) floats
        Mean over a result's rows of log time less γ · log work.
    level_shares : (N, P) sparse floats
        Mean shares; ``level`` falls with them, γ times.
    shape : (R,) floats
        Each row's own less its result's mean; 0 for a result of one row.
    """

    log_work: Floats
    shares: sparse.csr_array
    level: Floats
    level_shares: sparse.csr_array
    shape: Floats


def residuals(problem: Problem, cost: Floats, fade: float) -> Residuals:
    """Residuals at log seconds a rep ``cost`` (P,) and γ ``fade``."""
    counts = problem.counts
    if not len(problem):
        none = np.zeros(0)
        return Residuals(none, counts, none, counts, none)
    begins = counts.indptr[:-1]
    logs = problem.log_counts + cost[counts.indices]
    top = np.maximum.reduceat(logs, begins)
    per_row = np.diff(counts.indptr)
    parts = np.exp(logs - np.repeat(top, per_row))
    total = np.add.reduceat(parts, begins)
    log_work = top + np.log(total) - np.log(REFERENCE_SECONDS)
    shares = sparse.csr_array(
        (parts / np.repeat(total, per_row), counts.indices, counts.indptr), shape=counts.shape
    )
    each = problem.log_seconds - fade * log_work
    if not problem.has_splits:
        return Residuals(log_work, shares, each, shares, np.zeros_like(each))
    level = np.add.reduceat(each, problem.row_start) / problem.per_result
    return Residuals(
        log_work,
        shares,
        level,
        sparse.csr_array(averaging(problem) @ shares),
        each - level[problem.of_row],
    )


def averaging(problem: Problem) -> sparse.csr_array:
    """(N, R): the mean over each result's rows."""
    rows = len(problem.of_row)
    starts = np.append(problem.row_start, rows)
    weights = 1.0 / problem.per_result[problem.of_row]
    return sparse.csr_array((weights, np.arange(rows), starts), shape=(len(problem), rows))
