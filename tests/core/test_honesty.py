"""What forecasts promised beside what happened, counted out by hand and on many draws."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.core.estimation.honesty import Foreseen, honesty

FOUR = (10, 20, 30, 40)


def foreseen(done: int, naive: int = 25) -> Foreseen:
    return Foreseen(FOUR, 10, 20, 20, 30, 40, naive, done)


def test_counted_by_hand() -> None:
    told = honesty([foreseen(20), foreseen(35), foreseen(50)])
    assert told is not None
    assert (told.fifths.promised, told.fifths.held.inside, told.fifths.held.count) == (1, 2, 3)
    assert (told.half.promised, told.half.held.inside) == (0.5, 1)
    # less than half of the mean distance of two draws, 12.5: distances 10, 12.5 and 25
    assert told.score == pytest.approx((10 + 12.5 + 25) / 3 - 6.25)
    assert told.naive_score == pytest.approx((5 + 10 + 25) / 3)
    assert told.bias == pytest.approx((0 + 15 + 30) / 3)
    assert told.above == pytest.approx((0.375 + 0.75 + 1) / 3)
    assert [foreseen(d).is_inside for d in (9, 10, 40, 41)] == [False, True, True, False]


def test_results_of_a_class_count_for_their_class_and_not_one_by_one() -> None:
    # Four classes of ten: all inside in two of them, none in the others.
    rows = [foreseen(20)] * 20 + [foreseen(50)] * 20
    one_by_one = honesty(rows)
    by_class = honesty(rows, [n // 10 for n in range(40)])
    assert one_by_one is not None and by_class is not None
    assert (by_class.count, by_class.classes, one_by_one.classes) == (40, 4, 40)
    held = by_class.fifths.held
    assert (held.inside, held.count, held.groups) == (20, 40, 4)
    # By hand: the variance of the share is 4 / 3 · 4 · 5² / 40² = 1 / 12, as of three free
    # cases; at least four, so Jeffreys' interval of 2 of 4.
    assert held.low == pytest.approx(0.2254, abs=0.001) and held.high == pytest.approx(1 - held.low)
    assert one_by_one.fifths.held.low > held.low + 0.15


def test_classes_alike_tell_nearly_as_much_as_their_results() -> None:
    # Eight of ten inside in each of ten classes: nothing is common to a class.
    rows = ([foreseen(20)] * 8 + [foreseen(50)] * 2) * 10
    alike = honesty(rows, [n // 10 for n in range(100)])
    free = honesty(rows)
    assert alike is not None and free is not None
    # As if of 100 · (1.2816 / 1.3830)² = 86, for how alike they are is known from ten.
    assert 0 < free.fifths.held.low - alike.fifths.held.low < 0.005
    assert 0 < alike.fifths.held.high - free.fifths.held.high < 0.005


def test_one_class_says_what_one_case_does() -> None:
    told = honesty([foreseen(20)] * 30, [7] * 30)
    assert told is not None
    # Jeffreys' of 1 of 1: a tenth of a beta distribution with 3/2 and 1/2 lies below.
    assert told.fifths.held.high == 1 and told.fifths.held.low == pytest.approx(0.3514, abs=0.001)


def test_nothing_says_nothing() -> None:
    assert honesty([]) is None


def test_honest_forecasts_hold_what_they_promise_even_at_the_finish() -> None:
    # half of the members finish a course of 100 reps: the range ends there, and holds more
    # than four of five, and it promises to
    chance = np.random.default_rng(5)
    rows = []
    for _ in range(4000):
        middle = chance.normal(100, 5)
        draws = np.sort(np.clip(np.rint(chance.normal(middle, 10, 400)), 0, 100)).astype(int)
        done = int(np.clip(np.rint(chance.normal(middle, 10)), 0, 100))
        low, quarter, half, more, high = (
            int(draws[int(400 * s)]) for s in (0.1, 0.25, 0.5, 0.75, 0.9)
        )
        rows.append(Foreseen(tuple(draws.tolist()), low, quarter, half, more, high, 100, done))
    told = honesty(rows)
    assert told is not None
    assert told.fifths.promised > 0.85
    assert told.fifths.held.share == pytest.approx(told.fifths.promised, abs=0.02)
    assert told.half.held.share == pytest.approx(told.half.promised, abs=0.025)
    assert told.above == pytest.approx(0.5, abs=0.02)
    assert told.score < told.naive_score
