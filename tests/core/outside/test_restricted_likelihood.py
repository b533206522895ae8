"""Spreads' likelihood and levels, drift and splits included, against the normal's own formula.

The restricted likelihood of y ~ N(X b, V) is, but for a constant,
-½ (log|V| + log|Xᵀ V⁻¹ X| + rᵀ V⁻¹ r), r the residual at the best b (Patterson & Thompson
1971, Biometrika 58:545, from memory). V is written out whole here, which the product never does.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse

from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.problem import problem
from scoring.core.estimation.rows import Rows

from .data import LINEAR
from .linear import mean_of, solved, unlikely

SPREADS = Spreads(noise=0.09, noise_within=0.05, level=0.2, drift=0.02, classes=0.06)
OTHERS = [
    replace(SPREADS, noise=0.12),
    replace(SPREADS, noise_within=0.03),
    replace(SPREADS, level=0.1),
    replace(SPREADS, drift=0.001),
    replace(SPREADS, classes=0.01),
]


def history():
    """Eight members, fifteen classes over a year, two classes on one day, some with splits."""
    random = np.random.default_rng(7)
    member, class_ = np.nonzero(random.uniform(size=(8, 15)) < 0.6)
    days = np.sort(random.uniform(0, 365, 15).round(1))
    days[4] = days[3]
    result = np.repeat(np.arange(len(member)), random.integers(1, 4, len(member)))
    seconds = 600 * np.exp(random.normal(0, 0.2, len(result)))
    return Rows(
        members=8,
        classes=15,
        member=member,
        class_=class_,
        day=days[class_],
        result=result,
        seconds=seconds,
        stop=np.full(len(result), -1),
        counts=sparse.csr_array(np.ones((len(result), 1))),
    )


def written_out(rows, spreads):
    """V and its part that members' levels make."""
    member, class_, day = (x[rows.result] for x in (rows.member, rows.class_, rows.day))
    first = np.array([rows.day[rows.member == m].min() for m in range(rows.members)])
    since = day - first[member]
    levels = (member[:, None] == member) * (
        spreads.level**2 + spreads.drift**2 * np.minimum.outer(since, since)
    )
    within = spreads.noise_within**2
    return levels + (
        spreads.classes**2 * (class_[:, None] == class_)
        + (spreads.noise**2 - within) * (rows.result[:, None] == rows.result)
        + within * np.eye(len(member))
    ), levels


def by_formula(rows, spreads):
    """Minus the restricted log likelihood, the mean, and levels at every row."""
    y, ones = np.log(rows.seconds / 600), np.ones(len(rows.seconds))
    v, levels = written_out(rows, spreads)
    weight = np.linalg.solve(v, ones)
    mean = weight @ y / weight.sum()
    left = np.linalg.solve(v, y - mean)
    unlikely = 0.5 * (np.linalg.slogdet(v)[1] + np.log(weight.sum()) + (y - mean) @ left)
    return unlikely, mean, levels @ left


def test_likelihood_of_spreads():
    rows = history()
    told = problem(LINEAR, rows)
    base, ours = by_formula(rows, SPREADS)[0], unlikely(told, SPREADS)
    assert told.has_splits and len(told.day) < len(told)  # two results on one day
    for other in OTHERS:
        apart = by_formula(rows, other)[0] - base
        assert abs(apart) > 0.1
        assert unlikely(told, other) - ours == pytest.approx(apart, abs=1e-7)


def test_mean_and_levels():
    rows = history()
    told = problem(LINEAR, rows)
    for spreads in [SPREADS, *OTHERS]:
        _, mean, levels = by_formula(rows, spreads)
        cost, _, at = solved(told, spreads)
        assert mean_of(cost, spreads) == pytest.approx(mean, abs=1e-9)
        assert at.levels.mean[told.state][told.of_row] == pytest.approx(levels, abs=1e-8)
