"""The example by hand in ``scoring/ESTIMATES.md``: each figure is worked out here, and said there.

Where the program does the same, it is asked as well.
"""

from math import exp, log, sqrt
from pathlib import Path

import numpy as np
import pytest
from scipy import sparse

from scoring.core.estimation import assumptions
from scoring.core.estimation.filtering import Walks, smooth
from scoring.core.estimation.problem import problem
from scoring.core.estimation.residuals import residuals
from scoring.core.estimation.rows import Rows
from scoring.core.estimation.ways import Way, tied

PAGE = Path(__file__).parents[2] / "scoring" / "ESTIMATES.md"
TEXT = " ".join(PAGE.read_text(encoding="utf-8").split())
Z_80 = 1.2815515655446004
FADE = assumptions.FADE
SQUAT, PUSH, KNEE = 3.0, 4.0, 2.8
ROUND, KNEE_ROUND = 10 * SQUAT + 10 * PUSH, 10 * SQUAT + 10 * KNEE


def says(*parts: str) -> bool:
    missing = [part for part in parts if part not in TEXT]
    assert missing == []
    return True


def signed(value: float) -> str:
    return f"{value:+.1f}".replace("-", "−")


def apart(work: float, level: float = 0.0) -> float:
    """How far a work in ten minutes lies from a level, in hundredths of the logarithm."""
    return 100 * FADE * log(work / 600) - level


@pytest.fixture
def works():
    return {
        "Ada": 9 * ROUND + 4.5 * SQUAT,
        "Ben": 8 * KNEE_ROUND + 10 * SQUAT + 2.5 * KNEE,
        "Cleo": 7 * ROUND + 10 * SQUAT + 5.5 * PUSH,
    }


def test_the_work_of_the_three(works):
    assert says("9 × 70 + 4.5 × 3 = 643.5", "2.5 × 2.8 = 501", "5.5 × 4 = 542")
    assert list(works.values()) == pytest.approx([643.5, 501, 542])


def test_their_levels_by_this_result_alone(works):
    assert says("100 × 646 / 600 = **108**", "Ben comes to 83 and Cleo to 90", "9:16 in place of")
    taken = 600 * (works["Ada"] / 600) ** FADE
    assert (round(taken), works["Ada"] / 600) == (646, pytest.approx(1.0725))
    levels = [round(100 * exp(apart(work) / 100)) for work in works.values()]
    assert levels == [108, 83, 90]
    assert divmod(round(600 / 1.08), 60) == (9, 16)
    assert says("Ada +7.4, Ben −19.1, Cleo −10.8", "which is 2.085")
    assert [signed(apart(work)) for work in works.values()] == ["+7.4", "−19.1", "−10.8"]
    assert round(2**FADE, 3) == 2.085


def test_the_program_reads_the_three_marks_alike(works):
    ways = tied(
        {Way("goblet squat"): SQUAT, Way("hand-release push-up"): PUSH},
        {Way("hand-release push-up", "knee push-up"): (Way("hand-release push-up"), 0.7)},
    )
    at = [way.label for way in ways.ways]
    squat, push, knee = (
        at.index(x) for x in ("goblet squat", "hand-release push-up", "knee push-up")
    )
    counts = np.zeros((3, 3))
    counts[0, [squat, push]] = 94.5, 90
    counts[1, [squat, knee]] = 90, 82.5
    counts[2, [squat, push]] = 80, 75.5
    rows = Rows(
        members=3,
        classes=1,
        member=np.arange(3),
        class_=np.zeros(3, dtype=np.int64),
        day=np.zeros(3),
        result=np.arange(3),
        seconds=np.full(3, 600.0),
        stop=np.array([squat, knee, push]),
        counts=sparse.csr_array(counts),
    )
    told = residuals(problem(ways, rows), ways.base, FADE)
    assert 600 * np.exp(told.log_work) == pytest.approx(list(works.values()))
    assert -100 * told.level == pytest.approx([apart(work) for work in works.values()])


def test_what_of_a_slow_class_is_the_class(works):
    before = [100 * log(level / 100) for level in (112, 88, 95)]
    below = [usual - apart(work) for usual, work in zip(before, works.values(), strict=True)]
    assert says("+11.3, −12.8 and −5.1", "by 3.9, 6.3 and 5.6", "on average 5.3")
    assert [signed(usual) for usual in before] == ["+11.3", "−12.8", "−5.1"]
    assert [round(each, 1) for each in [*below, np.mean(below)]] == [3.9, 6.3, 5.6, 5.3]
    share = 25 / (25 + 64 / 3)
    assert says("25 / 46.3 = 0.54", "was 2.9 slow", "would be 0.92", "7.42 + 2.86 = +10.3")
    assert (round(share, 2), round(25 + 64 / 3, 1)) == (0.54, 46.3)
    assert round(25 / (25 + 64 / 30), 2) == 0.92
    effect = share * float(np.mean(below))
    ada = apart(works["Ada"])
    assert [round(x, 2) for x in (ada, effect)] == [7.42, 2.86]
    assert round(ada + effect, 1) == 10.3
    spreads = assumptions.CLASS_SPREAD, assumptions.NOISE, assumptions.LEVEL_SPREAD
    assert spreads == (0.05, 0.08, 0.25)


def test_how_far_one_result_is_believed():
    alone = 100 * log(1.3)
    back = 64 / (64 + 625)
    assert says("which is +26.2", "64 / 689 = 0.09", "+23.8, a level of 127", "between 115 and 140")
    assert (round(alone, 1), round(back, 2)) == (26.2, 0.09)
    left = alone * (1 - back)
    spread = sqrt(back * 625)
    assert says("√(0.093 × 625) = 7.6")
    assert (round(left, 1), round(spread, 1), round(back, 3)) == (23.8, 7.6, 0.093)
    ends = [round(100 * exp((left + sign * Z_80 * spread) / 100)) for sign in (-1, 0, 1)]
    assert ends == [115, 127, 140]
    one = Walks(np.array([0, 1]), np.zeros(1))
    got = smooth(one, np.array([alone]), np.array([64.0]), start=625.0, drift=0.25)
    assert got.mean[0] == pytest.approx(left) and got.variance[0] == pytest.approx(spread**2)
    assert says("9 / 73 = 0.12", "of that, 1.0")
    assert (round(9 / 73, 2), round(8 * 9 / 73, 1)) == (0.12, 1.0)


def test_how_a_band_widens_in_a_gap():
    assert 100 * assumptions.DRIFT_PER_DAY == 0.5
    after = sqrt(9 + 0.25 * 35)
    assert says("0.5 × √35 = 3.0", "√(3² + 0.5² × 35) = 4.2", "from 108-116 to 106-118")
    assert (round(0.5 * sqrt(35), 1), round(after, 1)) == (3.0, 4.2)
    bands = [
        f"{112 * exp(-Z_80 * spread / 100):.0f}-{112 * exp(Z_80 * spread / 100):.0f}"
        for spread in (3, after)
    ]
    assert bands == ["108-116", "106-118"]
    two = Walks(np.array([0, 2]), np.array([0.0, 35.0]))
    nothing = np.array([1e-9, np.inf])
    got = smooth(two, np.zeros(2), nothing, start=9.0, drift=0.25)
    assert got.variance[1] == pytest.approx(0.25 * 35)


def place(slow: float) -> str:
    work = 600 * (720 * 1.08 / exp(slow) / 600) ** (1 / FADE)
    rounds, left = divmod(work, ROUND)
    squats = min(10, int(left // SQUAT))
    return f"{rounds:.0f} rounds + {squats + int(max(0, left - 10 * SQUAT) // PUSH)}"


def test_how_a_level_and_a_clock_become_a_place():
    assert says("720 × 1.08 = 778", "= 766 seconds", "10 squats (30) and 9 push-ups (36)")
    assert round(720 * 1.08) == 778
    assert round(600 * (720 * 1.08 / 600) ** (1 / FADE)) == 766
    assert says(f"fast {place(-0.08)}", f"slow it is {place(0.08)}", f": {place(0)}.")


def test_what_bens_result_says_of_his_option():
    assert says("231 of 501 seconds", "10 % more", "4.6 % more")
    assert pytest.approx(231) == 82.5 * KNEE
    assert round(10 * 231 / 501, 1) == 4.6


def test_which_mark_of_bens_is_a_question():
    usual = 100 * log(0.88)
    astray = sqrt(9 + 25 + 64)
    work = {rounds: rounds * KNEE_ROUND + SQUAT / 2 for rounds in (12, 14)}
    assert says("That alone would be +32.3, which is 45.1 away", "= 9.9", "4.6 times", "2.9 times")
    assert signed(apart(work[14])) == "+32.3"
    assert round(apart(work[14], usual), 1) == 45.1
    assert [round(apart(work[n], usual) / astray, 1) for n in (14, 12)] == [4.6, 2.9]
    assert round(astray, 1) == 9.9
    assert assumptions.IMPOSSIBLE == 4
    assert assumptions.LEAST_RESULTS == 15
