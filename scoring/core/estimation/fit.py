"""Fit the model: costs, class effects, levels and spreads from results."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import linalg

from .curvature import curvature, factored, inverse
from .estimate import Convergence, Estimate, Spreads
from .objective import Point, noise_of, point
from .paths import paths
from .problem import Problem, part_of, problem
from .rows import Rows
from .spreads import LARGE, likeliest
from .surprise import own_surprise, split_surprise, trusting
from .ways import Floats, Ways

ROUNDS = 20
"""How often spreads are looked for anew."""

STEPS = 30
"""Steps of one search for costs and effects."""

CLOSE = 1e-4
"""The fit has come to rest when no figure would move by more of its standard deviation."""

SETTLED = 0.01
"""Spreads have come to rest when none moves by more than this share."""

ENOUGH_FOR_SPREADS = 6_000
"""Results from which the few spreads are known well: of the rest only costs are learned."""

ENOUGH_TO_START = 40_000
"""Larger problems start from the fit of a part of them of about this size."""


@dataclass(slots=True, eq=False)
class _State:
    """Where the search stands; ``factor`` is of a curvature that may be a few steps old."""

    spreads: Spreads
    trust: Floats
    cost: Floats
    effect: Floats
    factor: Floats | None = None
    steps: int = 0


def fit(ways: Ways, rows: Rows) -> Estimate:
    """Learn from results.

    Parameters
    ----------
    ways
        With what is held of them before.
    rows
        Results; there may be none.

    Returns
    -------
    Estimate
        Where data say nothing, what was held before with its full width. The same input
        gives the same figures. ``convergence`` says whether the search came to rest.

    Raises
    ------
    ValueError
        For rows that are not as ``rows.py`` describes them.
    """
    whole = problem(ways, rows)
    precision = ways.prior_precision()
    state = _start(whole, precision)
    moved = _settle(whole, state, precision)
    at = _at(whole, state, precision)
    bend = curvature(whole, state.spreads, at, precision)
    factor = factored(bend)
    if factor is None:
        factor = factored(curvature(whole, state.spreads, at, precision, exact=False))
    if factor is None:
        raise ArithmeticError("The curvature at the best fit is not positive definite.")
    covariance = inverse(factor)
    left = _farthest(factor, at.slope, covariance)
    levels, expected = paths(whole, state.spreads, at, covariance)
    found = len(ways)
    everyone = np.full(len(rows), np.nan)
    everyone[whole.kept] = expected
    return Estimate(
        ways=ways,
        cost=state.cost,
        covariance=covariance[:found, :found].copy(),
        used=_used(whole),
        spreads=state.spreads,
        levels=levels,
        effect=state.effect,
        effect_variance=np.diag(covariance)[found:].copy(),
        expected=everyone,
        convergence=Convergence(bool(moved and left < CLOSE), state.steps, left),
    )


def _start(whole: Problem, precision: Floats) -> _State:
    trust = np.ones(len(whole))
    if len(whole) <= ENOUGH_TO_START:
        return _State(Spreads(), trust, whole.ways.base.copy(), np.zeros(whole.classes))
    part = _thinned(whole, ENOUGH_TO_START)
    first = _State(Spreads(), np.ones(len(part)), whole.ways.base.copy(), np.zeros(whole.classes))
    if _is_large(whole):
        # With few results a class its effect can't be told from noise: costs alone gain.
        _search(part, first, precision)
    else:
        _settle(part, first, precision)
    return _State(first.spreads, trust, first.cost, first.effect, steps=first.steps)


def _thinned(whole: Problem, size: int) -> Problem:
    """About so many results: all of every so many-th member."""
    with_results = np.flatnonzero(np.diff(whole.walks.start))
    every = max(1, round(len(whole) / size))
    return part_of(whole, with_results[::every])


def _settle(whole: Problem, state: _State, precision: Floats) -> bool:
    """Search costs and spreads in turn until neither moves; whether that came about."""
    if not len(whole):
        return True
    for _ in range(ROUNDS):
        rested = _search(whole, state, precision)
        ordinary = noise_of(whole, state.spreads, np.ones(len(whole)))
        at = _at(whole, state, precision)
        trust = trusting(
            np.maximum(
                np.abs(own_surprise(whole, at, ordinary)),
                split_surprise(whole, at.told, state.spreads.noise_within),
            )
        )
        before = state.spreads
        few = _enough(whole)
        kept = np.isin(whole.kept, few.kept, assume_unique=True)
        state.spreads = likeliest(few, before, trust[kept], state.cost, state.effect, precision)
        small = (
            np.abs(trust - state.trust).max() < SETTLED and _apart(before, state.spreads) < SETTLED
        )
        state.trust = trust
        if rested and small:
            return _search(whole, state, precision)
        state.factor = None if _apart(before, state.spreads) > 0.2 else state.factor
    return False


def _is_large(whole: Problem) -> bool:
    return len(whole.ways) + whole.classes > LARGE


def _enough(whole: Problem) -> Problem:
    """A part that tells the spreads well; larger where trying them is cheap."""
    size = ENOUGH_TO_START if _is_large(whole) else ENOUGH_FOR_SPREADS
    return _thinned(whole, size) if len(whole) > 2 * size else whole


def _apart(one: Spreads, other: Spreads) -> float:
    """The greatest change of a spread, as a share; of γ, five times as strictly."""
    names = ("noise", "noise_within", "level", "drift", "classes")
    shares = [abs(np.log(getattr(one, name) / getattr(other, name))) for name in names]
    return float(max(*shares, 5 * abs(one.fade - other.fade)))


def _at(whole: Problem, state: _State, precision: Floats) -> Point:
    return point(whole, state.spreads, state.trust, state.cost, state.effect, precision)


def _search(whole: Problem, state: _State, precision: Floats) -> bool:
    """Newton steps until none is left to take; a curvature is kept while it serves."""
    ways = len(whole.ways)
    at = _at(whole, state, precision)
    left = np.inf
    for _ in range(STEPS):
        if state.factor is None:
            state.factor = factored(curvature(whole, state.spreads, at, precision))
            if state.factor is None:
                bend = curvature(whole, state.spreads, at, precision, exact=False)
                state.factor = factored(bend)
            fresh = True
        else:
            fresh = False
        if state.factor is None:
            return False
        half = linalg.solve_triangular(state.factor, at.slope, lower=True, check_finite=False)
        step = linalg.solve_triangular(
            state.factor, half, lower=True, trans="T", check_finite=False
        )
        size = float(np.sqrt(half @ half))
        if size < CLOSE / 10:
            return True
        share = 1.0
        while share > 1e-4:
            tried = point(
                whole,
                state.spreads,
                state.trust,
                state.cost - share * step[:ways],
                state.effect - share * step[ways:],
                precision,
            )
            if tried.loss <= at.loss - 1e-4 * share * size**2 or size < 1e-3:
                break
            share /= 2
        state.steps += 1
        state.cost = state.cost - share * step[:ways]
        state.effect = state.effect - share * step[ways:]
        at = tried
        if not fresh and (share < 1 or size > 0.3 * left):
            state.factor = None
        left = size
    return False


def _farthest(factor: Floats, slope: Floats, covariance: Floats) -> float:
    """The greatest step still to take, in standard deviations of what it moves."""
    if not len(slope):
        return 0.0
    step = linalg.cho_solve((factor, True), slope)
    return float(np.max(np.abs(step) / np.sqrt(np.diag(covariance))))


def _used(whole: Problem) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """(P,) results that have a way in them."""
    if not len(whole):
        return np.zeros(len(whole.ways), dtype=np.int64)
    ends = whole.row_start + whole.per_result - 1
    last = whole.counts[ends]
    return np.bincount(last.indices, minlength=len(whole.ways)).astype(np.int64)
