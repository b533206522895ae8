"""Marks cut by the clock: time fixed, place random. Their density holds all that can happen.

A course of three movements and a cap. A member either finishes, at some time up to the cap,
or stands at some place when it comes. The model's densities of both, integrated by scipy,
add up to one, and each part to what the normal distribution says of it.
"""

import numpy as np
import pytest
from scipy import integrate, sparse, stats

from scoring.core.estimation.assumptions import REFERENCE_SECONDS
from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.objective import point
from scoring.core.estimation.problem import problem
from scoring.core.estimation.rows import Rows

from .data import ways_of

WAYS = ways_of(carry=4.0, row=1.5, step=2.5)
REPS = np.array([60.0, 90.0, 80.0])  # one after the other: 240, 135 and 200 seconds
CAP = 540.0
SPREADS = Spreads(noise=0.1, noise_within=0.05, level=0.2, drift=0.003, classes=0.05, fade=1.06)
BOTH = np.hypot(SPREADS.noise, SPREADS.level)


def density(seconds, counts, stop):
    """Of one result, with costs as they are held and no class effect: the level is integrated
    out. The model leaves out what depends on no figure that it looks for: γ, and the
    reference that work is told in."""
    rows = Rows(
        members=1,
        classes=1,
        member=np.zeros(1, np.int64),
        class_=np.zeros(1, np.int64),
        day=np.zeros(1),
        result=np.zeros(1, np.int64),
        seconds=np.array([seconds]),
        stop=np.array([stop]),
        counts=sparse.csr_array(np.array([counts])),
    )
    none = np.zeros((3, 3))
    at = point(problem(WAYS, rows), SPREADS, np.ones(1), WAYS.base, np.zeros(1), none)
    return np.exp(-at.loss)


def at_place(place):
    """Density per rep of standing ``place`` reps into the course at the cap."""
    before = np.r_[0, np.cumsum(REPS)]
    stop = min(int(np.searchsorted(before, place, side="right")) - 1, 2)
    counts = np.clip(place - before[:-1], 0, REPS)
    return SPREADS.fade / REFERENCE_SECONDS * density(CAP, counts, stop)


def chance(work):
    """That less than ``work`` seconds of work are done at the cap, by the normal alone."""
    expected = SPREADS.fade * np.log(work / REFERENCE_SECONDS)
    return stats.norm.sf((np.log(CAP / REFERENCE_SECONDS) - expected) / BOTH)


def places(first, last):
    """Chance of a place between two, one movement at a time: density jumps between them."""
    ends = np.unique(np.clip(np.r_[first, np.cumsum(REPS), last], first, last))
    return sum(
        integrate.quad(at_place, a, b, epsabs=1e-10)[0]
        for a, b in zip(ends[:-1], ends[1:], strict=True)
    )


def test_places_and_finishing_times_add_up_to_one():
    def at_time(seconds):
        return density(seconds, REPS, -1) / seconds

    finished, _ = integrate.quad(at_time, 60, CAP, epsabs=1e-10)
    stopped = places(1e-6, REPS.sum())
    assert finished == pytest.approx(1 - chance(575.0), abs=1e-7)
    assert stopped == pytest.approx(chance(575.0), abs=1e-7)
    assert finished + stopped == pytest.approx(1, abs=1e-7)
    assert 0.2 < finished < 0.8


@pytest.mark.parametrize(("reps", "work"), [(60, 240), (105, 307.5), (150, 375), (200, 500)])
def test_each_stretch_has_the_chance_that_the_normal_gives_it(reps, work):
    assert places(1e-6, reps) == pytest.approx(chance(work), abs=1e-7)


def test_without_the_term_for_the_place_it_is_no_density():
    """With residuals alone, as for times, the places' chances would not be chances."""

    def residual_alone(place):
        before = np.r_[0, np.cumsum(REPS)]
        return density(CAP, np.clip(place - before[:-1], 0, REPS), -1)

    total, _ = integrate.quad(residual_alone, 1e-6, REPS.sum(), points=[60, 150], limit=200)
    assert total > 10
