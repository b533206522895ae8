"""Spreads, levels and what stays uncertain of them, against the normal's own formula.

The restricted likelihood of y ~ N(X b, V) is, but for a constant,
-½ (log|V| + log|Xᵀ V⁻¹ X| + rᵀ V⁻¹ r), r the residual at the best b (Patterson & Thompson
1971, Biometrika 58:545, from memory). V is written out whole here, which the product never does.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse

from scoring.core.estimation.curvature import curvature
from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.paths import paths
from scoring.core.estimation.problem import problem
from scoring.core.estimation.rows import Rows
from scoring.core.estimation.surprise import own_surprise

from .data import LINEAR, UNHELD
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


def unit_weights(v):
    """V⁻¹, what of it the mean leaves (Henderson's P), and the mean's own variance."""
    inverse = np.linalg.inv(v)
    ones = np.ones(len(v))
    of_mean = 1 / (ones @ inverse @ ones)
    weight = inverse @ ones
    return inverse, inverse - of_mean * np.outer(weight, weight), of_mean


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


@pytest.mark.parametrize("spreads", [SPREADS, *OTHERS])
def test_what_stays_uncertain(spreads):
    """Henderson's variances of prediction errors (1975, Biometrics 31:423, from memory): of
    levels, of class effects, and of levels together with the mean, all else being unknown."""
    rows = history()
    told = problem(LINEAR, rows)
    _, _, at = solved(told, spreads)
    covariance = np.linalg.inv(curvature(told, spreads, at, UNHELD))
    levels, _ = paths(told, spreads, at, covariance)

    v, prior = written_out(rows, spreads)
    inverse, left, of_mean = unit_weights(v)
    of_row = told.state[told.of_row]
    variance = np.diag(prior - prior @ left @ prior)
    assert levels.variance[of_row] == pytest.approx(variance, abs=1e-9)
    assert spreads.fade**2 * covariance[0, 0] == pytest.approx(of_mean, rel=1e-6)

    came = rows.class_[rows.result][:, None] == np.arange(rows.classes)
    among = spreads.classes**4 * np.einsum("rc,rs,sc->c", came, left, came)
    assert np.diag(covariance)[1:] == pytest.approx(spreads.classes**2 - among, abs=1e-9)

    together = -prior @ inverse @ np.ones(len(v)) * np.sqrt(of_mean)
    last = told.walks.start[1:] - 1
    rows_of_last = [int(np.flatnonzero(of_row == state)[0]) for state in last]
    assert levels.lean[:, 0] == pytest.approx(together[rows_of_last], abs=1e-7)


def test_how_far_a_result_lies_from_what_the_members_others_say():
    """Costs and effects given, each result left out in turn and foretold by the normal."""
    rows = history()
    told = problem(LINEAR, rows)
    _, effect, at = solved(told, SPREADS)
    got = own_surprise(told, at)
    error = at.told.level - effect[told.class_]
    first = np.array([rows.day[rows.member == m].min() for m in range(rows.members)])
    since = rows.day - first[rows.member]
    v = (rows.member[:, None] == rows.member) * (
        SPREADS.level**2 + SPREADS.drift**2 * np.minimum.outer(since, since)
    ) + np.diag(at.noise)
    for one in range(len(rows)):
        others = np.arange(len(rows)) != one
        weight = np.linalg.solve(v[np.ix_(others, others)], v[others, one])
        apart = error[one] - weight @ error[others]
        spread = np.sqrt(v[one, one] - weight @ v[others, one])
        assert got[one] == pytest.approx(apart / spread, abs=1e-8)
