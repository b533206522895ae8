"""Reading levels: by hand, and against the conditional of the whole Gaussian.

What is expected here is worked out in the tests: from the definition of a random walk, or by
conditioning one dense Gaussian of all days on all results.
"""

from dataclasses import replace
from math import erf, exp, log, sqrt

import numpy as np
import pytest

from bench.estimator_scene import SMALL, scene
from scoring.core.estimation.estimate import LevelPaths, Spreads
from scoring.core.estimation.fit import fit
from scoring.core.estimation.level_reading import (
    MemberLevels,
    Reading,
    levels_of,
    typical,
)

Z = 1.2815515655446004


def paths(*members):
    """From one (days, means, variances, gains, results) a member, costs and classes known."""
    start = np.cumsum([0, *(len(member[0]) for member in members)])
    joined = [np.concatenate([np.asarray(m[k], float) for m in members]) for k in range(5)]
    last = np.concatenate([with_last(m[2], m[3]) for m in members])
    return LevelPaths(
        start, *joined[:4], last, joined[4].astype(np.int64), np.zeros((len(members), 0))
    )


def with_last(variances, gains):
    """Of each state with the last one: its variance times the gains between."""
    return np.array([variances[-1] * np.prod(gains[n:-1]) for n in range(len(variances))])


def dense(days, values, noise, spreads, asked):
    """Mean and covariance of u on the days asked, given values seen with noise on other days.

    Cov(u_s, u_t) = level² + drift² · (min(s, t) - first day): a walk that begins at random on
    the first day.
    """
    everything = np.concatenate([days, asked])
    walked = np.minimum.outer(everything, everything) - days[0]
    prior = spreads.level**2 + spreads.drift**2 * walked
    seen = slice(0, len(days))
    rest = slice(len(days), None)
    weight = np.linalg.solve(prior[seen, seen] + noise**2 * np.eye(len(days)), prior[seen]).T
    mean = weight @ np.asarray(values)
    covariance = prior - weight @ prior[seen]
    return mean[rest], covariance[rest, rest], mean[seen], covariance[seen, seen]


def smoothed(days, values, noise, spreads):
    """One member's states as a smoother leaves them, from the dense Gaussian."""
    days = np.asarray(days, float)
    _, _, mean, covariance = dense(days, values, noise, spreads, days[:1])
    after = np.diag(covariance)[1:]
    gain = np.append(np.diag(covariance, 1) / after, 0.0) if len(days) > 1 else [0.0]
    return days, mean, np.diag(covariance), gain, np.ones(len(days))


SPREADS = Spreads(level=0.3, drift=0.02)
DAYS = np.array([3.0, 10.0, 11.0, 31.0])
VALUES = [0.20, 0.05, 0.12, -0.10]


@pytest.fixture
def member():
    return levels_of(paths(smoothed(DAYS, VALUES, 0.08, SPREADS)), SPREADS, 0)


def test_the_level_is_a_hundred_times_the_pace_of_the_typical_member():
    # A tenth less time for the same work: u = log 0.9, and 100 / 0.9 = 111.1.
    assert Reading(log(0.9), 0.0).level == pytest.approx(111.1111, abs=1e-4)
    reading = Reading(-0.05, 0.02**2)
    assert reading.low == pytest.approx(100 * exp(0.05 - Z * 0.02))
    assert reading.high == pytest.approx(100 * exp(0.05 + Z * 0.02))
    # Four times in five between them, from the normal distribution.
    share = erf(Z / sqrt(2))
    assert share == pytest.approx(0.8, abs=1e-12)


def test_after_the_last_result_only_the_width_grows():
    spreads = Spreads(drift=0.01)
    member = levels_of(paths(([5.0], [-0.1], [0.03**2], [0.0], [2])), spreads, 0)
    assert member.at(5.0) == Reading(-0.1, 0.03**2)
    later = member.at(21.0)
    # 0.03² + 16 · 0.01² = 0.05²
    assert (later.mean, later.variance) == (-0.1, pytest.approx(0.05**2))
    assert member.results == 2 and (member.first, member.last) == (5.0, 5.0)


def test_half_way_between_two_results_by_hand():
    # Two independent states, ten days apart: ¼ · 0.04² + ¼ · 0.02² + 0.01² · 5 · 5 / 10
    spreads = Spreads(drift=0.01)
    member = levels_of(
        paths(([0.0, 10.0], [0.1, 0.3], [0.04**2, 0.02**2], [0.0, 0.0], [1, 1])), spreads, 0
    )
    middle = member.at(5.0)
    assert middle.mean == pytest.approx(0.2)
    assert middle.variance == pytest.approx((0.04**2 + 0.02**2) / 4 + 0.00025)


def test_nothing_is_known_before_the_first_result(member):
    assert member.at(2.99) is None and member.improved(2.0, 31.0) is None
    assert member.path(2.0, 9.0) == []
    with pytest.raises(ValueError, match="before the first"):
        member.covariance(0.0, 5.0)


@pytest.mark.parametrize("days", [DAYS, DAYS[:1], DAYS[:2]])
def test_means_and_covariances_are_those_of_the_whole_gaussian(days):
    values = VALUES[: len(days)]
    member = levels_of(paths(smoothed(days, values, 0.08, SPREADS)), SPREADS, 0)
    asked = np.array([3.0, 4.5, 9.0, 10.0, 10.3, 11.0, 14.0, 29.0, 31.0, 40.0, 95.0])
    mean, covariance, _, _ = dense(days, values, 0.08, SPREADS, asked)
    for i, one in enumerate(asked):
        reading = member.at(one)
        assert reading.mean == pytest.approx(mean[i], abs=1e-12)
        assert reading.variance == pytest.approx(covariance[i, i], abs=1e-12)
        for j, two in enumerate(asked):
            assert member.covariance(one, two) == pytest.approx(covariance[i, j], abs=1e-12)


def test_the_probability_of_improvement_is_that_of_the_whole_gaussian(member):
    asked = np.array([12.0, 40.0])
    mean, covariance, _, _ = dense(DAYS, VALUES, 0.08, SPREADS, asked)
    spread = sqrt(covariance[0, 0] + covariance[1, 1] - 2 * covariance[0, 1])
    wanted = (1 + erf((mean[0] - mean[1]) / spread / sqrt(2))) / 2
    assert member.improved(12.0, 40.0) == pytest.approx(wanted, abs=1e-12)
    # The same by drawing from it.
    draws = np.random.default_rng(5).multivariate_normal(mean, covariance, 200_000)
    assert np.mean(draws[:, 1] < draws[:, 0]) == pytest.approx(wanted, abs=0.005)


def test_of_no_time_at_all_and_of_time_without_results_nothing_can_be_said(member):
    assert member.improved(31.0, 31.0) == 0.5
    assert member.improved(40.0, 90.0) == pytest.approx(0.5)
    with pytest.raises(ValueError, match="the earlier"):
        member.improved(31.0, 30.0)


def test_what_is_uncertain_of_all_states_alike_says_nothing_of_a_change():
    """Two states, each of variance 0.05², of which 0.04² is common to them: of their
    difference it cancels out, and 0.05² + 0.05² - 2 · 0.04² = 0.0018 is left."""
    spreads = Spreads(drift=0.0)
    member = MemberLevels(
        days=(0.0, 10.0), means=(0.06, 0.0), variances=(0.05**2, 0.05**2), gains=(0.1, 0.0),
        with_last=(0.04**2, 0.05**2), counts=(1, 1), spreads=spreads,
    )  # fmt: skip
    wanted = (1 + erf(0.06 / sqrt(0.0018) / sqrt(2))) / 2
    assert member.improved(0.0, 10.0) == pytest.approx(wanted)


def test_a_gap_makes_the_improvement_less_sure(member):
    soon, late = member.improved(3.0, 31.0), member.improved(3.0, 200.0)
    assert soon > late > 0.5


def test_without_a_result_it_is_the_typical_member_with_all_the_width():
    spreads = Spreads(level=0.25)
    everybody = paths(([], [], [], [], []), ([1.0], [-0.2], [0.01], [0.0], [1]))
    for member in (levels_of(everybody, spreads, 0), levels_of(everybody, spreads, None)):
        assert member.at(5.0) is None and member.results == 0
        assert member.now(5.0) == typical(spreads) == Reading(0.0, 0.0625)
        assert member.now(5.0).level == 100.0
        assert member.path(5.0, 4.0) == [] and member.first is member.last is None
    assert levels_of(everybody, spreads, 1).now(1.0).mean == -0.2


def test_the_path_goes_through_every_result_and_to_the_day(member):
    found = member.path(45.0, 5.0)
    days = [day for day, _ in found]
    # 7 and 1 days need nothing in between, 20 are four parts of 5, 14 two of 7.
    assert days == [3.0, 10.0, 11.0, 16.0, 21.0, 26.0, 31.0, 38.0, 45.0]
    assert all(reading == member.at(day) for day, reading in found)
    widths = {day: reading.variance for day, reading in found}
    assert widths[45.0] > widths[31.0]
    assert [day for day, _ in member.path(10.5, 5.0)] == [3.0, 10.0, 10.5]


def test_changes_told_from_a_fit_lie_where_they_should_four_times_in_five():
    """On gyms drawn from the model, the true change from the first result to the last lies in
    its 80 % interval about four times in five, and so does the level in between."""
    changes, between = [], []
    for seed in range(4):
        drawn = scene(SMALL, seed)
        estimate = fit(drawn.ways, drawn.rows)
        days = np.array([one.day for one in drawn.classes])
        walks = np.array(drawn.level)
        for number in range(SMALL.members):
            member = levels_of(estimate.levels, estimate.spreads, number)
            first, last = (int(np.argmin(abs(days - d))) for d in (member.first, member.last))
            one, two = member.at(member.first), member.at(member.last)
            spread = sqrt(
                one.variance + two.variance - 2 * member.covariance(member.first, member.last)
            )
            moved = walks[last, number] - walks[first, number]
            changes.append(abs(moved - (two.mean - one.mean)) < Z * spread)
            middle = (first + last) // 2
            reading = member.at(days[middle])
            apart = abs(walks[middle, number] - reading.mean)
            between.append(apart < Z * sqrt(reading.variance))
    assert len(changes) == 4 * SMALL.members
    # 240 of each, not independent of each other within a gym.
    assert 0.72 < np.mean(changes) < 0.88
    assert 0.72 < np.mean(between) < 0.88


def test_the_typical_member_is_about_the_average_of_all_as_they_began():
    """Also where the catalogue is off throughout: the members, being many, hold the scale."""
    drawn = scene(SMALL, 3)
    for off in (0.0, log(1.3)):
        ways = replace(drawn.ways, base=drawn.ways.base - off)
        estimate = fit(ways, drawn.rows)
        paths = [levels_of(estimate.levels, estimate.spreads, m) for m in range(SMALL.members)]
        first = [path.means[0] for path in paths if path.days]
        assert 100 * exp(-np.mean(first)) == pytest.approx(100, abs=6)
