"""The filter and smoother against an exact Gaussian conditional."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.estimation.filtering import Walks, smooth


def walks_of(lengths, elapsed):
    start = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int64)
    times = np.array(elapsed, dtype=float)
    times[start[:-1][np.diff(start) > 0]] = 0
    return Walks(start, times)


def exactly(times, observed, noise, start, drift):
    """Mean and covariance of a walk given what was observed, by the normal distribution."""
    since = np.cumsum(times)
    prior = start + drift * np.minimum.outer(since, since)
    told = np.isfinite(noise)
    seen = prior[np.ix_(told, told)] + np.diag(noise[told])
    cross = prior[:, told]
    mean = cross @ np.linalg.solve(seen, observed[told])
    covariance = prior - cross @ np.linalg.solve(seen, cross.T)
    _, size = np.linalg.slogdet(2 * np.pi * seen)
    likelihood = -0.5 * (size + observed[told] @ np.linalg.solve(seen, observed[told]))
    return mean, covariance, likelihood


@given(
    st.lists(st.integers(0, 6), min_size=1, max_size=5),
    st.floats(0, 0.5),
    st.integers(0, 10**6),
)
def test_smoothing_is_the_exact_conditional_of_each_walk(lengths, drift, seed):
    random = np.random.default_rng(seed)
    size = sum(lengths)
    walks = walks_of(lengths, random.uniform(0, 9, size))
    observed, noise = random.normal(size=size), random.uniform(0.1, 2, size)
    noise[random.uniform(size=size) < 0.2] = np.inf
    got = smooth(walks, observed, noise, start=1.3, drift=drift)
    likelihood = 0.0
    for first, end in zip(walks.start[:-1], walks.start[1:], strict=True):
        part = slice(first, end)
        mean, covariance, told = exactly(
            walks.elapsed[part], observed[part], noise[part], 1.3, drift
        )
        likelihood += told
        assert got.mean[part] == pytest.approx(mean, abs=1e-9)
        assert got.variance[part] == pytest.approx(np.diag(covariance), abs=1e-9)
        for one in range(first, end):
            for other in range(one, end):
                by_gains = got.variance[other] * np.prod(got.gain[one:other])
                assert by_gains == pytest.approx(covariance[one - first, other - first], abs=1e-9)
    assert got.log_likelihood == pytest.approx(likelihood, abs=1e-7)


def test_a_gap_widens_what_is_known_of_now():
    walks = walks_of([3], [0, 7, 200])
    none = np.array([0.05, 0.05, np.inf])
    got = smooth(walks, np.zeros(3), none, start=1.0, drift=0.01)
    assert got.variance[2] == pytest.approx(got.variance[1] + 0.01 * 200)


def test_no_walks_are_no_error():
    got = smooth(walks_of([], []), np.zeros(0), np.zeros(0), start=1.0, drift=0.1)
    assert got.log_likelihood == 0.0 and len(got.mean) == 0
