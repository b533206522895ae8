"""Groups of classes: shares of people who come again, medians, and when groups differ."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from scoring.core.comparing import Estimate, share
from scoring.core.grouping import differ, middle_of, share_of


def wide(found):
    return found.high - found.low


def test_everybody_once_is_wilsons_own_interval():
    # Newcombe 1998, Stat. Med. 17:857, table I, method 3 (from memory): 15 of 148.
    found = share_of({person: (int(person < 15), 1) for person in range(148)})
    assert (found.low, found.high) == pytest.approx((0.0624, 0.1605), abs=5e-5)
    assert (found.hits, found.tries, found.n) == (15, 148, 148)


def test_who_always_does_the_same_is_one_person_however_often():
    """Ten people twelve times each, five of them always: as sure as five of ten, no surer."""
    found = share_of({person: (12 * (person < 5), 12) for person in range(10)})
    assert (found.low, found.high) == pytest.approx((share(5, 10).low, share(5, 10).high))
    assert (found.hits, found.tries) == (60, 120)


def test_people_who_are_all_alike_count_every_try():
    found = share_of({person: (6, 12) for person in range(10)})
    assert (found.low, found.high) == pytest.approx((share(60, 120).low, share(60, 120).high))


def test_all_of_all_is_as_sure_as_there_are_people():
    found = share_of({1: (12, 12), 2: (12, 12)})
    assert (found.value, found.high) == (1, 1) and found.low == pytest.approx(share(2, 2).low)


def test_nobody_has_no_share():
    assert share_of({}) is None and share_of({1: (0, 0)}) is None


@given(st.dictionaries(st.integers(), st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=30))
def test_a_share_lies_in_its_interval_which_is_never_narrower_than_single_tries(people):
    people = {key: (min(pair), max(pair)) for key, pair in people.items()}
    found = share_of(people)
    if found is None:
        assert not any(tries for _, tries in people.values())
        return
    assert 0 <= found.low <= found.value <= found.high <= 1
    assert wide(found) >= wide(share(found.hits, found.tries)) - 1e-12


def test_the_middle_and_its_quartiles_are_type_7():
    # Hyndman & Fan 1996, Am. Stat. 50:361, type 7 of 1 … 10 (by numpy and R).
    found = middle_of(list(range(1, 11)))
    assert (found.lower, found.value, found.upper) == (3.25, 5.5, 7.75)
    # The sign test turned round: from the 2nd to the 9th holds the median in 97.9 % of cases.
    assert (found.low, found.high) == (2, 9)
    assert 2 * stats.binom.cdf(1, 10, 0.5) < 0.05 < 2 * stats.binom.cdf(2, 10, 0.5)
    assert middle_of([]) is None


def figure(low, high, n=20):
    return Estimate((low + high) / 2, low, high, n)


@pytest.mark.parametrize(
    ("own", "rest", "how"),
    [
        (figure(5, 6), figure(1, 4), "higher"),
        (figure(1, 4), figure(5, 6), "lower"),
        (figure(1, 5), figure(4, 6), "none"),
        (figure(1, 4), figure(4, 6), "none"),
        (figure(5, 6, n=4), figure(1, 4), "few"),
        (figure(5, 6), figure(1, 4, n=4), "few"),
        (figure(5, 6), None, "alone"),
        (figure(5, 6), Estimate(None, None, None, 0), "alone"),
        (figure(5, 6), Estimate(3, None, None, 5), "few"),
    ],
)
def test_groups_differ_only_where_intervals_do_not_meet(own, rest, how):
    assert differ(own, rest) == how
