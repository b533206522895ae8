"""The catalogue: what it holds, how a movement is found, and what is suggested.

That the figures are usual ones: common practice, no source. So the tests check only
that they are usable, not that they are true.
"""

from fractions import Fraction

import pytest

from scoring.core.catalogue import Pattern, Sides, all_movements, canonical, find, suggest
from scoring.core.names import name_problem

MOVEMENTS = all_movements()
EVERY = pytest.mark.parametrize("movement", MOVEMENTS, ids=lambda movement: movement.name)
LONGEST_STANDARD = 120


def every_easier(name: str) -> set[str]:
    """All options reached from a movement by taking easier ones again and again."""
    seen: set[str] = set()
    waiting = list(find(name).easier)
    while waiting:
        option = waiting.pop()
        if option not in seen:
            seen.add(option)
            waiting.extend(find(option).easier)
    return seen


def test_there_are_movements_enough_for_a_home_class():
    assert len(MOVEMENTS) >= 130
    assert isinstance(MOVEMENTS, tuple)


@pytest.mark.parametrize(
    "name",
    [
        "goblet squat",
        "hollow rock",
        "tuck rock",
        "single-arm row",
        "hand-release push-up",
        "knee push-up",
        "push press",
        "reverse lunge",
        "sit-up",
        "air squat",
        "push-up",
        "burpee",
        "run",
        "kettlebell swing",
        "deadlift",
        "back squat",
    ],
)
def test_the_movements_of_the_worked_examples_are_there(name):
    assert find(name).name == name


def test_names_are_unique_and_no_spelling_stands_for_two_movements():
    names = [movement.name for movement in MOVEMENTS]
    assert len(set(names)) == len(names)
    for movement in MOVEMENTS:
        for spelling in (movement.name, *movement.aliases):
            assert find(spelling) is movement, spelling


@EVERY
def test_every_name_and_alias_can_be_written_on_a_board(movement):
    for name in (movement.name, *movement.aliases):
        assert name_problem(name) == ""
    assert movement.name not in movement.aliases


@EVERY
def test_every_movement_is_found_however_it_is_spelt(movement):
    name = movement.name
    ending = "es" if name.endswith(("s", "x", "z", "ch", "sh")) else "s"
    plural = name[:-1] + "ies" if name.endswith(("ry", "ly")) else name + ending
    for spelling in (
        plural,
        name.upper(),
        f"  {name.title()} ",
        name.replace("-", " "),
        name.replace(" ", "-"),
        name.replace("-", ""),
        name.replace("'", "’"),
        name.replace("-", "–"),
    ):
        assert find(spelling) is movement, spelling
        assert canonical(spelling) == name
        assert suggest(spelling) is None


@EVERY
def test_easier_options_are_known_movements_and_lead_to_no_circle(movement):
    assert len(set(movement.easier)) == len(movement.easier)
    for option in movement.easier:
        assert find(option) is not None and find(option).name == option
    assert movement.name not in every_easier(movement.name)


@EVERY
def test_usual_seconds_are_exact_tenths_that_a_class_could_show(movement):
    assert isinstance(movement.seconds, Fraction)
    assert (movement.seconds * 10).denominator == 1
    assert Fraction("0.3") <= movement.seconds <= 60


@EVERY
def test_a_standard_is_one_sentence_that_fits_on_a_line_or_two(movement):
    standard = movement.standard
    assert standard[0].isupper() and standard.endswith(".")
    assert not any(sign in standard[:-1] for sign in ".;!?\n")
    assert 30 <= len(standard) <= LONGEST_STANDARD
    assert "  " not in standard


@EVERY
def test_cautions_are_whole_sentences_and_gear_is_named(movement):
    if movement.caution:
        assert movement.caution[0].isupper() and movement.caution.endswith(".")
    assert all(item and item == item.strip() for item in movement.gear)
    assert isinstance(movement.gear, tuple) and isinstance(movement.easier, tuple)
    assert isinstance(movement.aliases, tuple) and isinstance(movement.takes_load, bool)


def test_every_pattern_and_every_kind_of_sides_is_used():
    assert {movement.pattern for movement in MOVEMENTS} == set(Pattern)
    assert {movement.sides for movement in MOVEMENTS} == set(Sides)


@pytest.mark.parametrize(
    ("name", "two_sided"),
    [
        ("sit-up", True),
        ("goblet squat", True),
        ("reverse lunge", False),
        ("single-arm row", False),
        ("push press", False),  # with one dumbbell a push press has a side
    ],
)
def test_only_what_both_sides_always_do_together_has_no_sides(name, two_sided):
    assert find(name).is_two_sided is two_sided


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("goblet squats", "goblet squat"),
        ("pushup", "push-up"),
        ("push ups", "push-up"),
        ("Press-ups", "push-up"),
        ("KB swings", "kettlebell swing"),
        ("db snatches", "dumbbell snatch"),
        ("one-arm rows", "single-arm row"),
        ("cleans and jerks", "clean and jerk"),
        ("clean & jerk", "clean and jerk"),
        ("farmer’s carries", "farmer carry"),
        ("double unders", "double-under"),
        ("toes to bar", "toes-to-bar"),
        ("RDL", "romanian deadlift"),
        ("childs pose", "child's pose"),
    ],
)
def test_aliases_plurals_and_habits_of_spelling_lead_to_the_name(written, name):
    assert find(written).name == name
    assert canonical(written) == name


def test_what_is_not_known_is_only_tidied():
    assert find("Sofa  Surf") is None
    assert canonical(" Sofa  Surf – slow") == "sofa surf - slow"
    assert find("") is None and canonical("") == ""
    assert canonical(canonical("Sofa Surf")) == canonical("Sofa Surf")


@pytest.mark.parametrize(
    ("misspelt", "name"),
    [
        ("golbet squat", "goblet squat"),
        ("golbet squats", "goblet squat"),
        ("goblet sqat", "goblet squat"),
        ("squat goblet", "goblet squat"),
        ("tcuk rock", "tuck rock"),
        ("hollw rock", "hollow rock"),
        ("singel arm row", "single-arm row"),
        ("hand relase push up", "hand-release push-up"),
        ("knee psuh-ups", "knee push-up"),
        ("push prss", "push press"),
        ("revers lunge", "reverse lunge"),
        ("lunge jump", "jumping lunge"),
        ("sit-pu", "sit-up"),
        ("burpe", "burpee"),
        ("kettelbell swing", "kettlebell swing"),
        ("deadlfit", "deadlift"),
    ],
)
def test_a_misspelt_movement_gets_the_right_suggestion(misspelt, name):
    assert find(misspelt) is None
    assert suggest(misspelt) == name


@pytest.mark.parametrize(
    "invented",
    [
        "moon landing",
        "sofa hop",
        "cushion squat",
        "bear squat",  # not an air squat
        "cat walk",  # not a crab walk
        "goblet lunge",
        "tuck roll",
        "stair hop",
        "pillow press",
        "push",
        "press",
        "dumbbell push press",
        "goblet squat with a twist",
        "zzz",
        "",
        "-",
        "squat " * 400,
    ],
)
def test_an_invented_movement_gets_no_suggestion(invented):
    assert find(invented) is None
    assert suggest(invented) is None
