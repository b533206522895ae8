"""Whether it was the workout or the day, in a few words."""

from math import log

import pytest

from scoring.core.estimation.class_verdict import verdict
from scoring.core.estimation.class_words import effect_of, times_of

SURE = 0.01**2


@pytest.mark.parametrize(
    ("own", "others", "said"),
    [
        (1.12, [1.12, 1.13], "The workout: its other runs show the same"),
        (1.12, [1.0, 1.01], "The day: its other runs went otherwise"),
        (1.25, [1.1, 1.1], "The workout, and the day too"),
        (1.0, [1.0, 1.0], "May be chance"),
        (0.999, [1.016, 1.016], "May be chance"),
        (1.1, [], "Clear, but given only once: the day, or the workout"),
        (1.01, [], "May be chance"),
    ],
)
def test_other_runs_of_a_workout_tell_it_from_the_day(own, others, said):
    mine = log(own), SURE
    times = times_of(mine, [(log(each), SURE) for each in others], 20)
    assert verdict(effect_of(*mine, 20), times) == said
