"""How many finish by when: a published curve, a library, and plain shares under one cap."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.duration.survfunc import SurvfuncRight

from scoring.core.comparing import share
from scoring.core.finishing import End, finishing

# Weeks until leukaemia came back, 6-mercaptopurine and placebo: Freireich et al. 1963, Gehan
# 1965, Biometrika 52:203; the curve as in Cox & Oakes 1984, Analysis of Survival Data, p. 7.
# Printed figures from memory, recomputed by R's survival and by lifelines.
WEEKS = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
SEEN = [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def curve(seconds, finished):
    return finishing(
        End(Fraction(time), bool(done)) for time, done in zip(seconds, finished, strict=True)
    )


def test_the_published_curve():
    found = curve(WEEKS, SEEN)
    assert [int(time) for time in found.times] == [6, 7, 10, 13, 16, 22, 23]
    assert found.left == pytest.approx(
        [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482], abs=5e-5
    )
    assert found.half == 23
    assert found.by(Fraction(15)).value == pytest.approx(1 - 0.6902, abs=5e-5)
    assert (found.people, found.finished, found.known_until) == (21, 9, 35)
    assert found.by(Fraction(36)) is None
    others = curve(PLACEBO, [1] * 21)
    assert others.half == 8 and others.known_until is None
    assert others.by(Fraction(60)).value == 1


times = st.lists(st.tuples(st.integers(1, 12), st.booleans()), min_size=1, max_size=40).filter(
    lambda rows: any(done for _, done in rows)
)


@given(times)
def test_curve_and_variance_are_the_librarys(rows):
    found = curve(*zip(*rows, strict=True))
    theirs = SurvfuncRight(np.array([t for t, _ in rows]), np.array([int(d) for _, d in rows]))
    assert [float(time) for time in found.times] == theirs.surv_times.tolist()
    assert found.left == pytest.approx(theirs.surv_prob.tolist(), abs=1e-12)
    for left, doubt, error in zip(found.left, found.doubt, theirs.surv_prob_se, strict=True):
        if left > 1e-9:
            assert left * doubt**0.5 == pytest.approx(error, abs=1e-9)


@given(st.lists(st.integers(1, 30), min_size=1, max_size=30), st.integers(1, 30))
def test_under_one_cap_it_is_the_plain_share(seconds, cap):
    found = curve([min(time, cap) for time in seconds], [time <= cap for time in seconds])
    plain = share(sum(time <= cap for time in seconds), len(seconds))
    at_cap = found.by(Fraction(cap))
    assert at_cap.n == len(seconds)
    assert (at_cap.value, at_cap.low, at_cap.high) == pytest.approx(
        (plain.value, plain.low, plain.high), abs=1e-9
    )


@given(times, st.integers(1, 12))
def test_shares_grow_within_their_interval(rows, at):
    found = curve(*zip(*rows, strict=True))
    got = found.by(Fraction(at))
    if got is None:
        assert at > found.known_until
        return
    assert 0 <= got.low <= got.value + 1e-9 and got.value <= got.high + 1e-9 <= 1 + 2e-9
    later = found.by(Fraction(at + 1))
    assert later is None or later.value >= got.value


def test_who_finishes_as_the_cap_stops_others_was_among_them():
    found = curve([600, 600, 600, 700], [1, 0, 0, 1])
    assert found.left == pytest.approx((0.75, 0.0))


def test_nobody_and_nobody_finished():
    assert finishing([]) is None
    found = curve([600, 720], [0, 0])
    assert found.half is None and found.known_until == 720
    assert found.by(Fraction(650)).value == 0 and found.by(Fraction(650)).n == 1
    assert found.by(Fraction(721)) is None
