"""Options to offer at a line, and how they get into a board's text."""

from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scoring.core import catalogue, notation
from scoring.core.board_edit import EditError, add_option, option_text
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.prescription import Load, Option, PrescriptionError
from scoring.core.suggestions import MOST, Used, read_option, suggest_options

from ..conftest import FOR_TIME, TWO_LADDERS
from .strategies import options, workouts


def course_of(text):
    return Course(notation.parse(text).workout)


def at(found, movement):
    return next(each for each in found if each.line.line.movement == movement)


def kg(amount):
    return Load((Fraction(amount),))


# --- what is suggested ----------------------------------------------------------


def test_what_this_group_used_most_stands_first_then_the_catalogue():
    used = {
        "hollow rock": [
            Used(Option("dead bug", credit=Fraction(3, 5)), times=1, members=1),
            Used(Option("crunch"), times=9, members=4),
        ]
    }
    found = at(suggest_options(course_of(FOR_TIME), used, CreditTable()), "hollow rock")
    first, second = found.suggestions[:2]
    assert (first.text, first.why) == ("or crunch", "used here 9 times, by 4 members")
    assert first.counts == "counts 0.8 until you write a credit"
    assert (second.text, second.why) == ("or dead bug, credit 0.6", "used here once, by 1 member")
    assert second.counts == "counts 0.6, as last written"
    # Its tuck rock stands there already.
    assert found.offered == ("tuck rock",)
    assert "tuck rock" not in [each.option.movement for each in found.suggestions]


def test_a_credit_of_the_table_is_not_written_out():
    table = CreditTable(options={("goblet squat", "air squat"): Fraction(7, 10)})
    used = {"goblet squat": [Used(Option("air squat", credit=Fraction(1, 2)), 3, 2)]}
    first = at(suggest_options(course_of(FOR_TIME), used, table), "goblet squat").suggestions[0]
    assert first.text == "or air squat" and first.counts == "counts 0.7 by the credit table"


def test_a_lighter_load_used_here_is_suggested_and_a_heavier_one_not():
    used = {
        "goblet squat": [
            Used(Option("goblet squat", kg(12)), 2, 2),
            Used(Option("goblet squat", kg(24)), 9, 9),
        ]
    }
    found = at(suggest_options(course_of(FOR_TIME), used, CreditTable()), "goblet squat")
    # 12 of 20 kg: 1 - (1 - 0.6) / 2 = 0.8.
    assert found.suggestions[0].text == "or goblet squat @ 12 kg"
    assert found.suggestions[0].counts == "counts 0.8 by the load rule"
    assert "24" not in str([each.text for each in found.suggestions])


@settings(max_examples=40)
@given(workouts(), st.lists(options(), max_size=4))
def test_whatever_is_suggested_can_be_added(workout, before):
    course = Course(workout)
    used = {line.line.movement: [Used(o, 1, 1) for o in before] for line in course.lines}
    text = notation.to_text(workout)
    for found in suggest_options(course, used, CreditTable()):
        labels = [each.option.label for each in found.suggestions]
        assert 1 <= len(labels) <= MOST and len(set(labels)) == len(labels)
        assert set(labels).isdisjoint(found.offered)
        for each in found.suggestions:
            assert read_option(each.text) == each.option
            added = notation.parse(add_option(text, found.line, each.option)).workout
            line = Course(added).lines[found.line.index].line
            assert line.options == (*found.line.line.options, each.option)


# --- adding it to the text ----------------------------------------------------------


def test_the_option_goes_below_the_right_line_and_nothing_else_changes():
    course = course_of(TWO_LADDERS)
    line = next(each for each in course.lines if each.line.movement == "hollow rock")
    changed = add_option(TWO_LADDERS, line, Option("crunch", credit=Fraction(1, 2)))
    before, after = TWO_LADDERS.splitlines(), changed.splitlines()
    place = before.index("  or tuck rock, credit 0.75") + 1
    assert after[place] == "  or crunch, credit 0.5"
    assert after[:place] + after[place + 1 :] == before


def test_what_was_typed_by_hand_stays_as_it_was_typed():
    text = (
        "Own way\r\n12:00 cap\r\n\r\n# warm up first\r\n2 ROUNDS, not scored\r\n10 Push ups\r\n\r\n"
        "3 rounds of\r\n\t10 Push ups\r\n\t# the knees may rest\r\n\t  or knee push-ups = ignored\r\n"
    ).replace(" = ignored", "")
    line = course_of(text).lines[0]
    changed = add_option(text, line, Option("incline push-up"))
    rows = changed.split("\n")
    assert rows[-2] == "\t  or incline push-up"
    assert rows[:-2] + rows[-1:] == text.replace("\r\n", "\n").split("\n")
    # The warm-up has the same movement and got nothing.
    assert rows[6:7] == [""] and rows[5] == "10 Push ups"


def test_a_line_that_is_gone_is_said_to_be():
    line = course_of(FOR_TIME).lines[1]
    with pytest.raises(EditError, match="not there"):
        add_option(FOR_TIME.replace("hollow rock", "sit-up"), line, Option("crunch"))
    with pytest.raises(EditError):
        add_option("nothing", line, Option("crunch"))
    with pytest.raises(EditError, match="twice"):
        add_option(FOR_TIME, line, Option("tuck rock"))


@settings(max_examples=60)
@given(workouts(), options(), st.data())
def test_adding_an_option_adds_that_option_and_no_more(workout, option, data):
    course = Course(workout)
    assume(course.lines)
    line = data.draw(st.sampled_from(course.lines))
    text = notation.to_text(workout)
    try:
        changed = add_option(text, line, option)
    except EditError:
        # Only what can't stand there is refused.
        with pytest.raises(PrescriptionError):
            type(line.line)(
                line.line.movement, load=line.line.load, options=(*line.line.options, option)
            )
        return
    rows = changed.split("\n")
    assert [row for row in rows if row.strip() == option_text(option)]
    assert Course(notation.parse(changed).workout).lines[line.index].line.options[-1] == option


@pytest.mark.parametrize("text", ["", "20 burpee", "or", "or x, credit 9", "x\n\n5 rounds\n1 y"])
def test_what_is_no_option_is_none(text):
    with pytest.raises(ValueError):
        read_option(text)


def test_every_easier_movement_of_the_catalogue_can_be_written():
    for movement in catalogue.all_movements():
        for easier in movement.easier:
            assert read_option(f"or {easier}") == Option(easier)
