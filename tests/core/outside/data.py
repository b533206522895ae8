"""Data sets of other fields, made into rows of the model."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import sparse

from scoring.core.estimation.assumptions import REFERENCE_SECONDS
from scoring.core.estimation.rows import Rows
from scoring.core.estimation.ways import Way, Ways, tied

ONE = Way("figure")
"""The only way of data that are no work: each result is one rep of it, so that its log cost
is the mean of all."""

LINEAR = tied({ONE: REFERENCE_SECONDS}, {})
"""A rep of 600 seconds: log work is 0, and a figure's "log time" is the figure itself."""

UNHELD = np.full((1, 1), 1e-10)
"""A prior of the mean so wide that it says nothing."""


def rows_of(
    seconds: Sequence[float],
    counts: np.ndarray,
    *,
    member: Sequence[int] | None = None,
    class_: Sequence[int] | None = None,
    day: Sequence[float] | None = None,
) -> Rows:
    """Finished results, one row each, put in order; without more all of one member and class."""
    size = len(seconds)
    member = np.zeros(size, np.int64) if member is None else np.asarray(member)
    class_ = np.zeros(size, np.int64) if class_ is None else np.asarray(class_)
    day = np.zeros(size) if day is None else np.asarray(day, dtype=float)
    order = np.lexsort((class_, day, member))
    return Rows(
        members=int(member.max()) + 1,
        classes=int(class_.max()) + 1,
        member=member[order],
        class_=class_[order],
        day=day[order],
        result=np.arange(size),
        seconds=np.asarray(seconds, dtype=float)[order],
        stop=np.full(size, -1),
        counts=sparse.csr_array(np.asarray(counts, dtype=float)[order]),
    )


def figures(values: Sequence[float], **where: Sequence[float]) -> Rows:
    """Plain figures as log times of one rep each: the model without its work."""
    seconds = REFERENCE_SECONDS * np.exp(np.asarray(values, dtype=float))
    return rows_of(seconds, np.ones((len(seconds), 1)), **where)


def positions(names: Sequence[object]) -> np.ndarray:
    """Numbers for names, in their order."""
    return np.unique(np.asarray(names), return_inverse=True)[1]


def ways_of(**seconds: float) -> Ways:
    """Roots with their rough seconds a unit."""
    return tied({Way(name.replace("_", " ")): value for name, value in seconds.items()}, {})
