"""Gear: every phrase of the catalogue means pieces that can be ticked."""

import pytest

from scoring.core import catalogue
from scoring.core.gear import HOUSEHOLD, PIECES, alternatives, can_do, loaded_pieces


def test_every_phrase_of_the_catalogue_is_understood():
    for movement in catalogue.all_movements():
        for phrase in movement.gear:
            assert alternatives(phrase) <= set(PIECES), (movement.name, phrase)


def test_every_piece_is_good_for_something():
    asked = {p for m in catalogue.all_movements() for g in m.gear for p in alternatives(g)}
    assert asked == set(PIECES)


@pytest.mark.parametrize(
    ("phrase", "pieces"),
    [
        ("dumbbell, kettlebell or barbell", {"dumbbell", "kettlebell", "barbell"}),
        ("dumbbells or band", {"two dumbbells", "band"}),
        ("anchor or own feet", set()),
        ("two dumbbells, plates or blocks", {"two dumbbells", "plates", "books"}),
    ],
)
def test_a_phrase_asks_for_one_of_its_pieces(phrase, pieces):
    assert alternatives(phrase) == pieces


def test_an_unknown_piece_is_told():
    with pytest.raises(ValueError, match="trampoline"):
        alternatives("trampoline or box")


@pytest.mark.parametrize(
    ("movement", "pieces", "can"),
    [
        ("air squat", set(), True),
        ("goblet squat", set(), False),
        ("goblet squat", {"kettlebell"}, True),
        ("goblet squat", {"two dumbbells"}, True),  # who has two has one
        ("burpee box jump-over", {"box"}, True),
        ("pull-up", {"rowing machine"}, False),
        ("three-legged hop", set(), True),  # a coach's own: nobody knows what it takes
    ],
)
def test_what_a_member_can_do(movement, pieces, can):
    assert can_do(movement, pieces) is can


def test_the_bare_living_room_does_something_of_every_pattern():
    # common practice, no source: a remote class must be doable with what is in most homes
    patterns = {m.pattern for m in catalogue.all_movements()}
    bare = {m.pattern for m in catalogue.all_movements() if can_do(m.name, HOUSEHOLD)}
    assert {p for p in patterns if p.value not in {"machine", "carry"}} <= bare


def test_which_pieces_carry_the_load():
    have = {"two dumbbells", "kettlebell", "band", "barbell"}
    assert loaded_pieces("goblet squat", have) == {"dumbbell", "kettlebell"}
    assert loaded_pieces("air squat", have) == set()
    assert loaded_pieces("three-legged hop", have) == {"dumbbell", "kettlebell", "barbell"}
