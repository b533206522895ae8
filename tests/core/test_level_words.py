"""Levels and class effects in words."""

from datetime import date
from math import log

import pytest

from scoring.core.estimation import level_words as words
from scoring.core.estimation.class_words import effect_of, effect_text, short_text, times_of
from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.level_reading import Reading, typical

TODAY = date(2026, 11, 26)
SINCE = date(2026, 9, 1)


def test_a_level_is_told_beside_the_typical_member():
    # log 1.08 up, and 0.04 of spread: 100 · exp(0.077 ± 1.2816 · 0.04) = 102.6 and 113.7
    told = words.now_text(Reading(-log(1.08), 0.04**2), words.YOU)
    assert told == (
        "Your level is 108 (likely between 103 and 114): about 8 % faster than this gym's "
        "typical member at the same work."
    )
    assert "about as fast as" in words.now_text(Reading(0.001, 0.01), words.THEY)
    assert "about 10 % slower than" in words.now_text(Reading(-log(0.9), 0.0), words.YOU)


def test_without_results_the_typical_level_has_its_full_width():
    # 100 · exp(±1.2816 · 0.25) = 72.6 and 137.8
    told = words.nothing_text(typical(Spreads(level=0.25)), words.YOU)
    assert "Nothing is known of your level yet" in told and "is 100" in told
    assert "between 73 and 138" in told


def test_from_how_many_results_and_until_when():
    last = date(2026, 11, 21)
    assert words.from_text(14, last, TODAY) == "From 14 results until 21 November."
    assert words.from_text(1, date(2025, 3, 2), TODAY) == "From 1 result until 2 March 2025."


@pytest.mark.parametrize(("last", "weeks"), [(date(2026, 10, 15), 6), (date(2026, 11, 5), 3)])
def test_a_gap_is_told(last, weeks):
    told = words.gap_text(last, TODAY, words.YOU)
    assert told.startswith(
        f"You have logged nothing by the clock for {weeks} weeks, so this is less certain"
    )


def test_less_than_three_weeks_are_no_gap():
    assert words.gap_text(date(2026, 11, 6), TODAY, words.YOU) == ""


@pytest.mark.parametrize(
    ("probability", "percent", "said"),
    [
        (0.999, 12.0, "very likely (more than 99 %) that you are faster than on 1 September."),
        (0.96, 4.0, "very likely (96 %) that you are faster"),
        (0.87, 3.0, "is likely (87 %) that you are faster than on 1 September."),
        (0.5, 0.0, "can't be told whether you are faster or slower than on 1 September"),
        (0.12, -6.0, "is likely (88 %) that you are slower at present than on 1 September"),
        (0.001, -9.0, "very likely (more than 99 %) that you are slower at present"),
        (
            0.09,
            -3.0,
            "You are about as fast as on 1 September, perhaps a little slower (the chance of "
            "slower is 91 %). So much comes and goes",
        ),
    ],
)
def test_the_chance_of_an_improvement_is_told(probability, percent, said):
    assert said in words.improved_text(probability, percent, SINCE, TODAY, words.YOU)


@pytest.mark.parametrize("percent", [-3.0, -20.0])
def test_a_lower_level_is_told_without_blame_and_asks_for_nothing(percent):
    told = words.improved_text(0.1, percent, SINCE, TODAY, words.YOU)
    assert "a full life" in told and "othing has to be made up for" in told
    for urging in ("should", "must", "try harder", "push", "lost", "worse", "fail", "only"):
        assert urging not in told.lower()
    assert "no reason to go on when something hurts" in words.CAUTION


def test_what_takes_form_away_comes_before_that_it_is_away():
    told = words.improved_text(0.01, -12.0, SINCE, TODAY, words.YOU)
    assert told.startswith("Illness, a break") and told.index("nothing") < told.index("99 %")


def test_the_first_result_is_said_to_be_it():
    first = words.improved_text(0.9, 6.0, SINCE, TODAY, words.THEY, is_first=True)
    assert first.endswith("they are faster than at their first result, on 1 September.")
    small = words.improved_text(0.1, -2.0, SINCE, TODAY, words.YOU, is_first=True)
    assert small.startswith("You are about as fast as at your first result, on 1 September, ")


def test_a_day_after_the_last_result_asks_for_an_earlier_one():
    assert words.too_late_text(date(2026, 11, 24), TODAY, words.YOU) == (
        "Your last result is of 24 November; pick an earlier day to compare with."
    )


def test_the_typical_member_is_said_to_be_who_they_are():
    assert "everybody who has results here, each as they began" in words.WHAT


def test_the_same_to_a_coach():
    assert words.improved_text(0.9, 7.0, SINCE, TODAY, words.THEY).startswith(
        "It is likely (90 %) that they are faster"
    )
    assert words.gap_text(date(2026, 10, 15), TODAY, words.THEY).startswith(
        "They have logged nothing"
    )


def test_a_class_slower_than_its_movements_say():
    # exp(0.04) - 1 = 4.1 %; exp(0.04 ± 1.2816 · 0.0225): 1.1 and 7.1 %
    found = effect_of(0.04, 0.0225**2, 23)
    assert found.is_clear and found.results == 23
    assert effect_text(found).startswith(
        "Together they were about 4 % slower than their levels and this workout's movements would "
        "say (likely between 1 and 7 % slower). So the movements don't explain it"
    )


def test_a_class_that_could_be_as_any():
    assert not effect_of(0.01, 0.03**2, 9).is_clear
    told = effect_text(effect_of(0.01, 0.03**2, 9))
    # exp(0.01 ± 1.2816 · 0.03): -2.8 and 5.0 %
    assert "likely between 3 % faster and 5 % slower" in told and "can be chance" in told
    assert "just as fast as their levels" in effect_text(effect_of(0.001, 0.03**2, 9))


def test_a_class_faster_than_its_movements_say():
    # exp(-0.06) - 1 = -5.8 %; -8.2 and -3.4 %
    assert (
        "about 6 % faster than their levels and this workout's movements would say (likely between "
        "3 and 8 % faster)"
    ) in effect_text(effect_of(-0.06, 0.02**2, 40))


def test_other_times_of_the_workout_tell_it_from_the_day():
    """Two other times at 0.10 and 0.13, known equally well: their mean is 0.115, of variance
    0.02² / 2; a class at 0.12 is 0.005 above it, of variance 0.02² + 0.02² / 2 = 0.0245²."""
    own = (0.12, 0.02**2)
    times = times_of(own, [(0.10, 0.02**2), (0.13, 0.02**2)], 40)
    assert times.count == 2 and times.others.results == 40
    # exp(0.115) - 1, and exp(0.115 ± 1.2816 · 0.01414)
    assert times.others.percent == pytest.approx(12.19, abs=0.01)
    assert times.others.low == pytest.approx(10.17, abs=0.01)
    # exp(0.005 ± 1.2816 · 0.0245) - 1
    assert (times.beside.low, times.beside.high) == pytest.approx((-2.61, 3.71), abs=0.01)
    told = effect_text(effect_of(*own, 20), times)
    assert "The 2 other times of this workout it was about 12 % slower (likely" in told
    assert "So it was the workout, not the day" in told


WORKOUT = "So it was the workout, not the day"
BOTH = "So it was the workout, and the day, the room or the stream too."
DAY = "So it was the day, the room or the stream, not the workout."


@pytest.mark.parametrize(
    ("own", "other", "said"),
    [
        # By the difference: none, slower, faster than the other times, which were none …
        (0.01, 0.0, "So neither stands out"),
        (0.10, 0.0, DAY),
        (-0.10, 0.0, DAY),
        # … slower …
        (0.11, 0.10, WORKOUT),
        (0.20, 0.10, BOTH),
        (0.08, 0.12, "So it was the workout; the day itself was, if anything, faster."),
        (0.0, 0.10, "So the workout was a slow one and the day a fast one, and the two even out."),
        (-0.10, 0.10, "the workout by itself is a slow one, and this class went the other way."),
        # … and faster.
        (-0.11, -0.10, WORKOUT),
        (-0.20, -0.10, BOTH),
        (-0.08, -0.12, "So it was the workout; the day itself was, if anything, slower."),
        (0.0, -0.10, "So the day was a slow one and the workout a fast one, and the two even out."),
        (0.10, -0.10, "the workout by itself is a fast one, and this class went the other way."),
    ],
)
def test_each_answer(own, other, said):
    pair = (own, 0.01**2)
    told = effect_text(effect_of(*pair, 9), times_of(pair, [(other, 0.01**2)], 9))
    assert said in told
    assert "The other time of this workout it was" in told


def test_a_day_that_was_fast_is_not_blamed_for_a_slow_workout():
    """8 % slower than foretold, where five other times were 11 % slower."""
    own, others = (log(1.08), 0.012**2), [(log(1.11), 0.01**2)] * 5
    told = effect_text(effect_of(*own, 20), times_of(own, others, 90))
    assert "this class was about 3 % faster than those times" in told
    assert told.endswith("the day itself was, if anything, faster.")


def test_a_class_effect_in_a_line():
    # exp(0.08) - 1 = 8.3 %; exp(0.08 ± 1.2816 · 0.02): 5.6 and 11.1 %
    assert short_text(effect_of(0.08, 0.02**2, 20)) == (
        "about 8 % slower (likely between 6 and 11 % slower)"
    )
    assert short_text(effect_of(0.001, 0.02**2, 20)) == (
        "just as fast (likely between 2 % faster and 3 % slower): can be chance"
    )


def test_a_better_known_time_weighs_more_and_none_says_nothing():
    # Weights 1/0.01² and 1/0.02²: (4 · 0.1 + 0.0) / 5 = 0.08
    times = times_of((0.0, 0.01), [(0.1, 0.01**2), (0.0, 0.02**2)], 5)
    assert times.others.percent == pytest.approx(8.33, abs=0.01)
    assert times_of((0.0, 0.01), [], 0) is None
