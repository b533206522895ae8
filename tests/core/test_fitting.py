"""My version: by hand on course L, and what holds whatever somebody has."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.credits import is_as_written
from scoring.core.fitting import Setup, Why, my_version
from scoring.core.gear import PIECES
from scoring.core.prescription import Load
from scoring.core.scoring import Rules

from ..conftest import TWO_LADDERS

COURSE = Course(notation.parse(TWO_LADDERS).workout)
RULES = Rules()
SQUAT, ROCK, ROW, PUSH_UP, PRESS, LUNGE, SIT_UP = range(7)


def kg(*amounts):
    return tuple(Load((Fraction(a),)) for a in amounts)


def test_who_told_nothing_does_it_as_written():
    assert all(fit.is_as_written for fit in my_version(COURSE, RULES, Setup()))


def test_what_is_usual_comes_first():
    fits = my_version(COURSE, RULES, Setup(usual={"hollow rock": "tuck rock"}))
    rock = fits[ROCK]
    assert (rock.label, rock.credit, rock.why) == ("tuck rock", Fraction(3, 4), Why.USUAL)
    assert fits[PUSH_UP].is_as_written


def test_the_usual_option_of_another_class_says_nothing_here():
    fits = my_version(COURSE, RULES, Setup(usual={"hollow rock": "dead bug"}))
    assert fits[ROCK].is_as_written


def test_an_own_weight_that_is_written_is_as_prescribed():
    setup = Setup(frozenset({"kettlebell"}), {"kettlebell": kg(16, 20)})
    fits = my_version(COURSE, RULES, setup)
    assert fits[SQUAT].is_as_written and fits[ROW].is_as_written and fits[PRESS].is_as_written


def test_the_nearest_lighter_weight_where_the_written_one_is_missing():
    setup = Setup(frozenset({"kettlebell"}), {"kettlebell": kg(8, 12, 24)})
    fit = my_version(COURSE, RULES, setup)[SQUAT]
    # ½ slope of the load rule: 1 + ½ × (12/20 − 1) = 0.8
    assert (fit.label, fit.credit, fit.why) == ("goblet squat @ 12 kg", Fraction(4, 5), Why.LOAD)


def test_nobody_is_sent_to_a_heavier_weight():
    setup = Setup(frozenset({"kettlebell"}), {"kettlebell": kg(32)})
    fit = my_version(COURSE, RULES, setup)[SQUAT]
    assert fit.choice is None and fit.why is Why.NOTHING


def test_pounds_are_compared_exactly():
    # 44 lb = 19.958 kg is lighter than 20 kg, and so not as prescribed.
    setup = Setup(frozenset({"kettlebell"}), {"kettlebell": (Load((Fraction(44),), "lb"),)})
    fit = my_version(COURSE, RULES, setup)[SQUAT]
    assert fit.label == "goblet squat @ 44 lb" and fit.why is Why.LOAD


def test_without_gear_the_coach_is_to_be_asked():
    fits = my_version(COURSE, RULES, Setup(frozenset()))
    squat = fits[SQUAT]
    assert squat.choice is None and squat.easier == ("air squat",)  # a box squat needs a box
    assert fits[SIT_UP].is_as_written


def test_an_option_that_needs_no_gear_is_taken():
    text = "X\ncap 10:00\n\n21-15-9\nkettlebell swing @ 24 kg\n  or glute bridge, credit 0.6\npull-up\n  or band row\n"
    course = Course(notation.parse(text).workout)
    swing, pull = my_version(course, RULES, Setup(frozenset({"band", "anchor"})))
    assert (swing.label, swing.why) == ("glute bridge", Why.GEAR)
    assert (pull.label, pull.credit) == ("band row", Fraction(4, 5))


@given(
    pieces=st.none() | st.frozensets(st.sampled_from(sorted(PIECES))),
    weights=st.lists(st.integers(1, 60), max_size=4),
    usual=st.sampled_from(["tuck rock", "hollow rock", "burpee", ""]),
)
def test_a_version_is_one_that_can_be_logged(pieces, weights, usual):
    setup = Setup(
        pieces, {"kettlebell": kg(*weights), "dumbbell": kg(*weights)}, {"hollow rock": usual}
    )
    for line, fit in zip(COURSE.lines, my_version(COURSE, RULES, setup), strict=True):
        assert fit.line == line.index
        assert (fit.choice is None) is (fit.why is Why.NOTHING)
        if fit.choice is not None:
            assert 0 < fit.credit <= 1
            assert fit.is_as_written is is_as_written(line, fit.choice)
            assert fit.is_as_written is (fit.credit == 1 and fit.source == "as prescribed")


@given(pieces=st.frozensets(st.sampled_from(sorted(PIECES))), more=st.sampled_from(sorted(PIECES)))
def test_more_gear_never_takes_a_way_of_doing_it_away(pieces, more):
    before = my_version(COURSE, RULES, Setup(pieces))
    after = my_version(COURSE, RULES, Setup(pieces | {more}))
    for less, fit in zip(before, after, strict=True):
        assert less.choice is None or fit.choice is not None
        assert not less.is_as_written or fit.is_as_written


def test_an_offered_weight_counts_what_the_coach_says():
    text = "X\ncap 10:00\n\n21-15-9\ngoblet squat @ 16 kg\n  or goblet squat @ 8 kg, credit 0.6\nsit-up\n"
    course = Course(notation.parse(text).workout)
    setup = Setup(frozenset({"kettlebell"}), {"kettlebell": kg(8)})
    fit = my_version(course, RULES, setup)[0]
    # The load rule would say ½ × (1 + 8/16) = 0.75.
    assert (fit.choice.option, fit.credit, fit.label) == (0, Fraction(3, 5), "goblet squat @ 8 kg")
