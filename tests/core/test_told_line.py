"""One told line: whose, which mark, which options; doubts are asked, never guessed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.credits import parse_choices
from scoring.core.marks import parse_mark
from scoring.core.name_book import NameBook
from scoring.core.told_line import MAX_LINE, read_line
from scoring.core.told_options import AS_NOTE

from ..conftest import FOR_TIME, TWO_LADDERS

NAMES = {1: "Ana Sol", 2: "Ben Okoro", 3: "Anna Berg", 4: "Cléo Wren", 5: "Ana Lund"}
BOOK = NameBook(NAMES)
TIDE = Course(notation.parse(TWO_LADDERS).workout)
LADDERS = Course(notation.parse(FOR_TIME).workout)
INTERVALS = Course(notation.parse("Beats\n\nevery 1:00 for 3 rounds\nmax push-up\n").workout)
LIFT = Course(notation.parse("Heavy\n\nmax load, 3 reps\nback squat\n").workout)


def read(text, course=TIDE, **kwargs):
    return read_line(text, course=course, names=BOOK, **kwargs)


CLEAR = [
    # line, course, whom, mark, options, effort
    ("ben 2+9 tuck, knee", TIDE, 2, "2+9", "tuck rock; knee push-up", None),
    ("Ben Okoro: 2+9", TIDE, 2, "2+9", "", None),
    ("okoro 2 + 9", TIDE, 2, "2+9", "", None),
    ("ana s 2+9 knee", TIDE, 1, "2+9", "knee push-up", None),
    ("CLEO 3 rounds 4", TIDE, 4, "3+4", "", None),
    ("cleo 3 rounds and 4 reps", TIDE, 4, "3+4", "", None),
    ("[18:42] Cleo Wren: got 3+2 💪 tuck and knee", TIDE, 4, "3+2", "tuck rock; knee push-up", None),
    ("18:42 - ben: 3+2 effort 7", TIDE, 2, "3+2", "", 7),
    ("ben 3+2 tuck rock 8/10", TIDE, 2, "3+2", "tuck rock", 8),
    ("2+9 ben tuck", TIDE, 2, "2+9", "tuck rock", None),
    ("ben 2+9 10 tuck", TIDE, 2, "2+9", "tuck rock: 10", None),
    ("ben 2+9 16kg squat", TIDE, 2, "2+9", "goblet squat @ 16 kg", None),
    ("ben 2+9 as prescribed", TIDE, 2, "2+9", "", None),
    ("ben 12:34", LADDERS, 2, "12:34", "", None),
    ("18:42 ben 12:34 tuck", LADDERS, 2, "12:34", "tuck rock", None),
    ("12:34 ben", LADDERS, 2, "12:34", "", None),
    ("ben finished in 12:34", LADDERS, 2, "12:34", "", None),
    ("ben block 1 / 12 / hollow rock / 5 tuck", LADDERS, 2,
     "block 1 / 12 / hollow rock / 5", "tuck rock", None),
    ("ben 20/18/17", INTERVALS, 2, "20 / 18 / 17", "", None),
    ("ben 82.5 kg", LIFT, 2, "82.5 kg", "", None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "course", "whom", "mark", "options", "effort"), CLEAR)
def test_a_plain_line_is_read_without_asking(text, course, whom, mark, options, effort):
    seen = read(text, course)
    assert seen.is_clear, (seen.problems, seen.doubts)
    assert (seen.members, seen.mark, seen.options, seen.effort) == ((whom,), mark, options, effort)


def test_splits_are_read_wherever_they_stand():
    seen = read("ben 1+3 splits 4:10 9:55, tuck, effort 8")
    assert (seen.splits, seen.options, seen.effort) == ("4:10; 9:55", "tuck rock", 8)


def test_two_who_fit_are_both_offered_and_neither_is_taken():
    seen = read("ana 2+9")
    assert seen.members == (1, 5) and not seen.is_sure_of_member and not seen.is_clear


def test_two_of_the_same_name_are_asked():
    book = NameBook({1: "Ana Sol", 2: "Ana Sol"})
    seen = read_line("ana sol 2+9", course=TIDE, names=book)
    assert seen.members == (1, 2) and not seen.is_clear


def test_a_misspelt_name_is_asked_not_taken():
    seen = read("bne 2+9")
    assert seen.members[0] == 2 and not seen.is_sure_of_member


def test_one_letter_completes_nobody_unasked():
    seen = read("c 2+9")
    assert seen.members == (4,) and not seen.is_clear


DOUBTS = [
    # line, the doubtful part, what it could be
    ("ben 3", "3", ("3 rounds", "3 reps")),
    ("ben 60", "60", ("60 reps",)),
    ("ben 2+9 12kg", "12kg",
     ("goblet squat @ 12 kg", "single-arm row @ 12 kg", "push press @ 12 kg")),
    ("ben 2+9 scaled", "scaled", ("tuck rock", "knee push-up")),
    ("ben 2+9 tuk rok", "tuk rok", ("tuck rock",)),
    ("Ben: see you at 2+9", "see you", ()),
]  # fmt: skip


@pytest.mark.parametrize(("text", "part", "choices"), DOUBTS)
def test_what_is_doubtful_is_asked_with_what_it_could_be(text, part, choices):
    seen = read(text)
    assert [(d.text, d.choices) for d in seen.doubts] == [(part, choices)]
    assert not seen.is_clear


def test_an_answer_settles_its_doubt():
    assert read("ben 3", answers={"3": "3 rounds"}).mark == "3+0"
    knee = read("ben 2+9 12kg", answers={"12kg": "push press @ 12 kg"})
    assert knee.is_clear and knee.options == "push press @ 12 kg"
    dropped = read("Ben: see you at 2+9", answers={"see you": ""})
    assert dropped.is_clear and dropped.options == ""


WRONG = [
    ("Zed 2+9", "member", "Zed"),
    ("2+9", "member", "whose"),
    ("ben 2+90", "mark", "A round has 24 reps"),
    ("ben 12:34", "mark", "no finishing time"),
    ("ben 2+9 effort 11", "effort", "0 to 10"),
    ("ben 2+9 splits 4:10 5:10 6:10 7:10", "splits", "4 splits"),
]


@pytest.mark.parametrize(("text", "column", "words"), WRONG)
def test_what_can_not_be_is_said_with_what_would_be_right(text, column, words):
    seen = read(text)
    said = {p.column: p for p in seen.problems}
    assert words in said[column].problem and said[column].suggestion


@pytest.mark.parametrize("text", ["hello everyone!", "", "💪💪", "great class, thank you Ben"])
def test_a_line_without_a_figure_is_chatter(text):
    seen = read(text)
    assert seen.is_chatter and seen.mark == ""


NO_MERE_NOTES = [
    # line, the part that is asked about, a word of the question
    ("ben 2+9 pain in my knee", "pain in my knee", "hurts"),
    ("ben 2+9 tuck, shoulder hurts", "shoulder hurts", "hurts"),
    ("ben 2+9; cleo 3+4", "cleo 3+4", "line of its own"),
    ("ben 2+9, dead bug", "dead bug", "as prescribed"),
    ("ben 2+9 goblet squat 16", "goblet squat 16", "as prescribed"),
    ("ben 2+9, lunge in the second half", "lunge in the second half", "as prescribed"),
    ("ben 2+9 lighter", "lighter", "as prescribed"),
]


@pytest.mark.parametrize(("text", "part", "word"), NO_MERE_NOTES)
def test_pain_another_result_and_work_done_otherwise_never_go_by_as_a_note(text, part, word):
    seen = read(text)
    [doubt] = seen.doubts
    assert doubt.text == part and word in doubt.words and AS_NOTE in doubt.choices
    assert read(text, answers={part: AS_NOTE}).note == part


def test_scaled_before_the_mark_is_asked_how():
    [doubt] = read("ben scaled 2+9").doubts
    assert (doubt.text, doubt.choices) == ("scaled", ("tuck rock", "knee push-up"))


def test_other_words_behind_a_mark_are_kept_as_a_note():
    assert read("ben 2+9 tuck, legs like jelly").note == "legs like jelly"


def test_a_load_is_not_taken_for_the_mark():
    assert read("ben 16 kg squat 2+9").mark == "2+9"


@given(st.text(max_size=400), st.sampled_from([TIDE, LADDERS, INTERVALS, LIFT]))
def test_no_text_breaks_it_and_what_is_clear_can_be_kept(text, course):
    seen = read(text, course)
    assert len(seen.text) <= MAX_LINE
    if seen.is_clear:
        parse_mark(course, seen.mark)
        parse_choices(course, seen.options)


_SIGNS = st.text(alphabet="0123456789+/:., ab@kg;-x()", max_size=MAX_LINE)


@given(_SIGNS, st.sampled_from([TIDE, LADDERS, INTERVALS, LIFT]))
def test_no_mix_of_figures_and_signs_breaks_it(text, course):
    seen = read("ben " + text, course)
    assert seen.is_chatter or seen.mark or seen.problems


@given(st.sampled_from(sorted(NAMES)), st.integers(0, 9), st.integers(0, 23))
def test_what_is_written_out_in_full_is_read_back(pk, rounds, reps):
    seen = read(f"{NAMES[pk]} {rounds}+{reps} tuck rock")
    assert seen.is_clear and seen.members == (pk,)
    assert seen.mark == f"{rounds}+{reps}" and seen.options == "tuck rock"
