"""What options have been worth: figures by hand, and when a change is suggested."""

from dataclasses import replace
from fractions import Fraction
from math import exp, log

import numpy as np
import pytest

from scoring.core.estimation.estimate import prior
from scoring.core.estimation.ways import Way, tied
from scoring.core.estimation.worth import one_of, told, verdict, worths

ROCK = Way("hollow rock")
TUCK = Way("hollow rock", "tuck rock")
SQUAT = Way("goblet squat", "", "20")
LIGHT = Way("goblet squat", "", "12")
HEAVY = Way("goblet squat", "", "24")
WAYS = tied({ROCK: 2.0, SQUAT: 3.0}, {TUCK: (ROCK, 0.8), LIGHT: (SQUAT, 0.8), HEAVY: (SQUAT, 1.1)})


def held(way, worth, spread, results, *, shared=0.0):
    """The prior, but ``way`` has been worth so much with so wide a log spread. Its variance
    is ``spread``² beside what it has in common with the way it is tied to."""
    start = prior(WAYS)
    at, parent = WAYS.position(way), int(WAYS.parent[WAYS.position(way)])
    cost, covariance, used = start.cost.copy(), start.covariance.copy(), start.used.copy()
    cost[at] = cost[parent] + log(worth)
    covariance[parent, parent] = shared
    covariance[at, :] = covariance[:, at] = 0
    covariance[at, parent] = covariance[parent, at] = shared
    covariance[at, at] = shared + spread**2
    used[at] = results
    return replace(start, cost=cost, covariance=covariance, used=used)


def of(way, estimate, **kwargs):
    return next(each for each in worths(estimate, **kwargs) if each.way == way)


def test_without_results_it_is_the_coachs_credit_with_the_whole_width_of_the_prior():
    found = of(TUCK, prior(WAYS))
    # 80 % of a normal lie within 1.2816 deviations, and the prior's is 0.2.
    assert found.median == pytest.approx(0.8) == found.credit
    assert found.low == pytest.approx(0.8 * exp(-1.2816 * 0.2), rel=1e-4)
    assert found.high == pytest.approx(0.8 * exp(1.2816 * 0.2), rel=1e-4)
    assert (found.results, found.suggestion, found.against) == (0, None, ROCK)


def test_movements_themselves_are_not_listed_only_what_is_tied_to_them():
    assert [each.way for each in worths(prior(WAYS))] == [LIGHT, HEAVY, TUCK]


def test_what_a_way_has_in_common_with_its_movement_leaves_the_interval_alone():
    narrow, wide = (held(TUCK, 0.72, 0.05, 48, shared=shared) for shared in (0.0, 0.5))
    assert of(TUCK, narrow).low == pytest.approx(of(TUCK, wide).low)


def test_a_clear_figure_suggests_the_nearest_step_of_five_hundredths():
    # 0.72 ± 4 %: 80 % from 0.684 to 0.758, and 90 % ends at 0.769, below the credit of 0.80.
    found = of(TUCK, held(TUCK, 0.72, 0.04, 48))
    assert found.is_clear and found.suggestion == Fraction("0.7")


def test_a_credit_that_ninety_per_cent_reach_stands():
    # 0.72 × exp(1.6449 × 0.065) = 0.801, just past 0.80; with 0.063 it is 0.7986.
    assert of(TUCK, held(TUCK, 0.72, 0.065, 48)).suggestion is None
    assert of(TUCK, held(TUCK, 0.72, 0.063, 48)).suggestion == Fraction("0.7")


@pytest.mark.parametrize(("results", "clear"), [(14, False), (15, True)])
def test_under_fifteen_results_nothing_is_suggested(results, clear):
    found = of(TUCK, held(TUCK, 0.6, 0.04, results))
    assert (found.is_clear, found.is_early) == (clear, not clear)


def test_less_than_a_step_is_not_worth_a_change():
    # Sure to a thousandth, but 0.775 rounds to 0.78, which is 0.02 away.
    assert of(TUCK, held(TUCK, 0.775, 0.001, 900)).suggestion is None


def test_where_no_step_of_five_hundredths_lies_in_the_interval_it_is_a_hundredth():
    # 0.728 ± 0.5 %: 80 % from 0.7234 to 0.7327, so neither 0.70 nor 0.75.
    assert of(TUCK, held(TUCK, 0.728, 0.005, 900)).suggestion == Fraction("0.73")


def test_an_easier_option_is_never_suggested_above_one_unless_that_is_allowed():
    estimate = held(TUCK, 1.12, 0.03, 60)
    assert of(TUCK, estimate).suggestion == 1
    assert of(TUCK, estimate, above_one=True).suggestion == Fraction("1.1")


def test_a_heavier_load_that_counts_more_than_one_may_go_on_doing_so():
    assert of(HEAVY, held(HEAVY, 1.26, 0.03, 60)).suggestion == Fraction("1.25")


def test_the_coachs_newest_credit_counts_not_the_one_the_estimate_began_with():
    estimate = held(TUCK, 0.72, 0.04, 48)
    found = of(TUCK, estimate, credits={TUCK: 0.7})
    assert found.credit == 0.7 and found.suggestion is None


def test_it_is_told_in_words_with_its_interval_and_number_of_results():
    # 0.72 × exp(∓1.2816 × 0.0672) = 0.6606 and 0.7848; ends are rounded outward.
    assert told(of(TUCK, held(TUCK, 0.72, 0.0672, 48))) == (
        "Tuck rock has been worth 0.72 of a hollow rock (between 0.66 and 0.79), from 48 results; "
        "the table says 0.80."
    )


def test_with_few_results_the_words_give_the_coach_precedence():
    words = told(of(TUCK, held(TUCK, 0.7, 0.15, 6)))
    assert words.startswith("The coach's credit speaks louder than 6 results.")
    assert "tuck rock has been worth 0.70 of a hollow rock" in words
    assert "1 result." in told(of(TUCK, held(TUCK, 0.7, 0.15, 1)))


def test_what_nobody_used_has_no_figure():
    assert told(of(LIGHT, prior(WAYS)), "the load rule says") == (
        "Goblet squat @ 12 kg has not been used yet; the load rule says 0.80."
    )


@pytest.mark.parametrize(
    ("way", "words"),
    [
        (Way("hollow rock"), "a hollow rock"),
        (Way("air squat"), "an air squat"),
        (Way("run", unit="metres"), "a metre of run"),
        (Way("row", unit="calories"), "a calorie of row"),
        (Way("goblet squat", "", "20"), "a goblet squat @ 20 kg"),
    ],
)
def test_one_of_a_way_is_said_in_its_unit(way, words):
    assert one_of(way) == words


def test_no_ways_give_no_rows():
    empty = tied({}, {})
    assert worths(prior(empty)) == ()
    assert np.array_equal(prior(empty).cost, np.zeros(0))


@pytest.mark.parametrize(
    ("worth", "spread", "results", "said"),
    [
        (0.70, 0.15, 6, "Few results: your credit speaks louder."),
        (0.70, 0.02, 48, "Clearly different: results speak for 0.70."),
        # 80 % of it from 0.774 to 0.826, which is told as 0.77 to 0.83.
        (0.80, 0.025, 48, "No clear difference."),
        # From 0.762 to 0.799 is told as 0.76 to 0.80: what is read decides.
        (0.78, 0.0185, 48, "No clear difference."),
        (0.77, 0.01, 480, "Clearly different, but too little to change."),
        # From 0.62 to 0.79: out of 80 %, not out of 90 %.
        (0.70, 0.09, 48, "Probably different, but not clearly enough to change."),
    ],
)
def test_what_is_said_of_a_credit_of_080_is_what_the_figures_shown_say(
    worth, spread, results, said
):
    assert verdict(of(TUCK, held(TUCK, worth, spread, results))) == said


def test_the_same_figure_beside_another_credit_speaks_for_itself():
    found = of(TUCK, held(TUCK, 0.8, 0.03, 48))
    assert found.suggestion is None and found.credited(0.5).suggestion == Fraction("0.8")
    assert found.credited(0.5).credited(0.8) == found


def test_a_credit_of_one_is_not_told_to_be_more():
    words = verdict(of(TUCK, held(TUCK, 1.2, 0.02, 48)).credited(1.0))
    assert words == "Worth more, but no credit here is more than 1."
