"""What a workout is found by."""

import pytest

from scoring.core import notation
from scoring.core.movements import Pattern
from scoring.core.searching import barred, folded, look_up, sought

TEXT = """Café tide
cap 18:00

3 rounds, not scored
10 air squat

18-12-6
goblet squat @ 20 kg
hollow rock
  or tuck rock, credit 0.75

2 rounds
10 sofa shuffle
"""


def test_movements_with_options_and_warm_up_patterns_of_what_is_scored():
    found = look_up(notation.parse(TEXT).workout)
    assert found.movements == (
        "air squat", "goblet squat", "hollow rock", "tuck rock", "sofa shuffle",
    )  # fmt: skip
    assert found.patterns == (Pattern.SQUAT, Pattern.CORE)
    assert found.seconds == 18 * 60


@pytest.mark.parametrize(
    ("written", "plain"),
    [("Café  Tide", "cafe tide"), ("PUSH‑UP", "push-up"), ("Straße", "strasse"), (" \n", "")],
)
def test_words_are_looked_for_without_case_and_accents(written, plain):
    assert folded(written) == plain


@pytest.mark.parametrize("name", ["push ups", "Push-Up", "pushup"])
def test_a_movement_is_found_by_any_of_its_spellings(name):
    assert sought(name) in barred(("air squat", "push-up"))
    assert sought(name) not in barred(("knee push-up",))


def test_a_movement_of_the_coachs_own_is_found_by_its_beginning():
    assert sought("sofa shuffles") in barred(("sofa shuffle",))
    assert sought("sofa") in barred(("sofa shuffle",))
    assert sought("shuffle") not in barred(("sofa shuffle",))
    assert barred(()) == ""
