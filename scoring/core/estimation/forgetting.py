"""An estimate without what it holds of some members: for those who are erased."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from .estimate import Estimate


def without(estimate: Estimate, members: Collection[int], results: Collection[int]) -> Estimate:
    """The estimate with no level of ``members`` and nothing said of ``results``.

    Positions stay as they are: the members have no state left and lean on nothing, and what
    was expected of the results is ``nan``. What all results taught together stays.
    """
    levels = estimate.levels
    lengths = np.diff(levels.start)
    gone = np.zeros(len(lengths), dtype=bool)
    gone[list(members)] = True
    states = np.repeat(~gone, lengths)
    lean = levels.lean.copy()
    if len(lean):
        lean[gone] = 0.0
    expected = estimate.expected.copy()
    expected[list(results)] = np.nan
    return replace(
        estimate,
        expected=expected,
        levels=replace(
            levels,
            start=np.concatenate([[0], np.cumsum(np.where(gone, 0, lengths))]).astype(np.int64),
            day=levels.day[states],
            mean=levels.mean[states],
            variance=levels.variance[states],
            gain=levels.gain[states],
            with_last=levels.with_last[states],
            results=levels.results[states],
            lean=lean,
        ),
    )
