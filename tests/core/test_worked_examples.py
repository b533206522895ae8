"""The worked examples of SCORING.md and more, derived by hand, as data."""

import json
from fractions import Fraction
from pathlib import Path

import pytest

from scoring.core.breakdown import breakdown
from scoring.core.credits import parse_choices
from scoring.core.marks import parse_mark
from scoring.core.ranking import Entry, ordered
from scoring.core.scoring import Result, Rules, line_counts, score

from .boards import COURSE_M, COURSES

CASES = json.loads((Path(__file__).parent / "cases/results.json").read_text())


def scored(course, mark_text, options=""):
    mark = parse_mark(course, mark_text)
    result = Result(mark, parse_choices(course, options, line_counts(course, mark)))
    return result, score(course, result, Rules())


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['course']}: {c['mark']} {c['options']}")
def test_a_result_scores_as_worked_out_by_hand(case):
    _, got = scored(COURSES[case["course"]], case["mark"], case["options"])
    assert got.raw_reps == case["raw"]
    assert got.credited == Fraction(case["credited"])
    assert got.pace_per_minute == Fraction(case["pace"])
    assert got.adjusted.text == case["adjusted"]
    assert got.adjusted.reps == (Fraction(case["reps"]) if "reps" in case else None)
    assert got.adjusted.seconds == (Fraction(case["seconds"]) if "seconds" in case else None)


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['course']}: {c['mark']} {c['options']}")
def test_a_breakdown_adds_up_to_its_score(case):
    course = COURSES[case["course"]]
    result, got = scored(course, case["mark"], case["options"])
    opened = breakdown(course, result, Rules(), got)
    assert sum(row.reps for row in opened.rows) == got.raw_reps
    assert sum(Fraction(row.credited) for row in opened.rows) == got.credited
    assert opened.sentences


def test_a_scaled_finisher_can_stand_behind_an_unfinished_prescribed_mark():
    marks = [("12:00", ""), ("12:00", "tuck rock; knee push-up")]
    marks += [("13:30", "tuck rock; knee push-up"), ("125 reps", "")]
    entries = []
    for number, (mark, options) in enumerate(marks, start=1):
        _, got = scored(COURSE_M, mark, options)
        entries.append(Entry(got.key, got.tie_key, str(number)))
    assert [entry.name for entry in ordered(entries)] == ["1", "2", "4", "3"]


def test_the_breakdown_says_what_each_option_counted():
    result, got = scored(COURSES["L"], "2+9", "tuck rock; knee push-up")
    opened = breakdown(COURSES["L"], result, Rules(), got)
    text = " ".join(opened.sentences)
    assert "36 reps of hollow rock were done as tuck rock" in text
    assert "they count 27" in text and "they count 21" in text
    assert "171 credited reps in 18:00 is 9.5 a minute" in text
    assert "reaches 1 round + 15" in text


def test_counted_option_reps_are_the_last_ones_done():
    result, got = scored(COURSES["L"], "block 1 / 12 / hollow rock / 12", "tuck rock: 14")
    rows = [
        (row.where, row.done_as, row.reps)
        for row in breakdown(COURSES["L"], result, Rules(), got).rows
        if row.movement == "hollow rock"
    ]
    assert rows == [
        ("block 1, rung of 18", "hollow rock", 16),
        ("block 1, rung of 18", "tuck rock", 2),
        ("block 1, rung of 12", "tuck rock", 12),
    ]
    assert got.credited == 60 - Fraction("3.5")


def test_weighing_reps_uses_the_same_formulas_with_weights():
    from scoring.core.course import Course

    course = Course(COURSE_M.workout, weighted=True)
    by_movement = {line.line.movement: Fraction(line.weight, 10) for line in course.lines}
    _, got = scored(course, "block 1 / 18 / hollow rock / 18")
    assert got.credited == 18 * (by_movement["goblet squat"] + by_movement["hollow rock"])
    _, done = scored(course, "12:00")
    assert done.adjusted.seconds == 720 and done.credited == Fraction(course.total_weight, 10)
    _, scaled = scored(course, "12:00", "tuck rock")
    expected = done.credited - 36 * by_movement["hollow rock"] / 4
    assert scaled.credited == expected
