"""The paragraph on classes written by hand."""

import pytest

from scoring.core.told_class import (
    Anchor,
    Change,
    ClassFacts,
    Kind,
    claims,
    names,
    percent,
    signed,
)


def paragraph(**facts):
    return [claim.text for claim in claims(ClassFacts(**facts))]


FULL = {
    "logged": 30,
    "members": 60,
    "usual_missing": 2,
    "prescribed": 12,
    "can_finish": True,
    "finished": 9,
    "halfway": "block 2, rung of 10, 6 push-ups done",
    "crowded": ("block 2, rung of 10, 10 push-up", 7),
    "effort": (8, 25),
    "change": Change(14, 4.25, 1.1, 7.4, "24 Oct 2026"),
    "plan": ["At the reference pace the course takes 11:40."],
    "improved": ["Ana", "Ben", "Cleo", "Dag"],
    "first_prescribed": ["Ana"],
    "newcomers": ["Eve", "Finn"],
    "pains": 2,
}


def test_a_full_class():
    assert paragraph(**FULL) == [
        "2 members said that something hurts: ask before the next class.",
        "30 of 60 (50 %) members logged; 2 who usually come have not.",
        "9 of 30 (30 %) finished.",
        "Half had stopped by block 2, rung of 10, 6 push-ups done.",
        "The set that stopped most was block 2, rung of 10, 10 push-up: 7 there.",
        "At the reference pace the course takes 11:40.",
        "12 of 30 (40 %) did it as prescribed.",
        "Of 25 who told how hard it was, half found it 8 of 10 or less.",
        "The 14 members who did it on 24 Oct 2026 too changed by +4.2 % in credited pace "
        "(very likely between +1.1 and +7.4 %).",
        "Ana, Ben, Cleo and 1 more did better than ever in this workout.",
        "Ana did it as prescribed for the first time.",
        "Eve and Finn logged their first results.",
    ]


def test_every_claim_leads_to_its_figures():
    assert [claim.anchor for claim in claims(ClassFacts(**FULL))] == [
        Anchor.PAINS,
        Anchor.CAME,
        Anchor.STOPPED,
        Anchor.STOPPED,
        Anchor.STOPPED,
        Anchor.PLAN,
        Anchor.OPTIONS,
        Anchor.EFFORT,
        Anchor.LAST,
        Anchor.BEST,
        Anchor.BEST,
        Anchor.BEST,
    ]


def test_an_empty_class_says_only_that():
    assert paragraph(members=20, is_open=True) == ["Nobody has logged yet."]
    assert paragraph(members=20) == ["Nobody logged."]
    # Somebody can say that it hurts and log nothing.
    assert paragraph(members=20, pains=1) == [
        "1 member said that something hurts: ask before the next class.",
        "Nobody logged.",
    ]


def test_one_result_is_no_statistic():
    told = paragraph(
        logged=1, members=3, halfway="2 rounds + 9", prescribed=1, effort=(7, 1), is_open=True
    )
    assert told == [
        "1 of 3 members has logged so far.",
        "They got to 2 rounds + 9.",
        "It was done as prescribed.",
        "The one who told how hard it was said 7 of 10.",
    ]


def test_all_finished():
    told = paragraph(
        logged=4, members=4, can_finish=True, finished=4, halfway="12:34", halfway_finished=True,
        prescribed=4,
    )  # fmt: skip
    assert told[1:] == [
        "All 4 finished.",
        "Half had finished by 12:34.",
        "All of it was as prescribed.",
    ]


def test_all_caught_before_the_first_set_was_done():
    told = paragraph(
        logged=3, members=3, can_finish=True, halfway="block 1, round 1, 0 burpee done",
        nothing_done=3, all_alike=True, has_options=False,
    )  # fmt: skip
    assert told[1:] == [
        "The clock caught everybody before the end.",
        "Nobody got through a rep before the clock stopped.",
    ]


def test_strength_pieces_and_intervals_speak_of_loads_and_reps():
    lift = paragraph(kind=Kind.LIFT, logged=6, members=9, halfway="80 kg", has_options=False)
    assert lift[1:] == ["Half lifted 80 kg or less."]
    bells = paragraph(kind=Kind.INTERVALS, logged=6, members=9, halfway="55 reps", prescribed=0)
    assert bells[1:] == [
        "Half did 55 reps or fewer in all intervals together.",
        "Everybody scaled something.",
    ]
    change = Change(6, -2.0, -5.0, 1.0, "1 Oct 2026")
    assert paragraph(kind=Kind.LIFT, logged=6, members=9, change=change)[-1] == (
        "The 6 members who did it on 1 Oct 2026 too changed by −2.0 % in load "
        "(very likely between −5.0 and +1.0 %, so it could be no change)."
    )


def test_marks_all_alike_are_no_half():
    told = paragraph(logged=5, members=5, halfway="2 rounds + 0", all_alike=True, prescribed=5)
    assert told[1] == "Everybody has the same mark, 2 rounds + 0."


@pytest.mark.parametrize("count", [1, 2, 4])
def test_few_pairs_make_no_claim_beyond_chance(count):
    change = Change(count, 9.0, 2.0, 16.0, "1 Oct 2026")
    told = paragraph(logged=9, members=9, change=change)[-1]
    assert "could be chance" in told and "between" not in told


@pytest.mark.parametrize(
    ("part", "of", "told"),
    [
        (0, 400, "0 %"),
        (1, 400, "under 1 %"),
        (399, 400, "over 99 %"),
        (400, 400, "100 %"),
        (1, 3, "33 %"),
    ],
)
def test_a_share_is_never_rounded_to_none_or_all(part, of, told):
    assert percent(part, of) == told


def test_signs_and_names():
    assert [signed(v) for v in (4.25, -1.0, 0.04, -0.04)] == ["+4.2", "−1.0", "0.0", "0.0"]
    assert names(["Ana"]) == "Ana"
    assert names(["Ana", "Ben"]) == "Ana and Ben"
    assert names(["Ana"] * 9) == "9 members"
    assert names(["Ana", "Ben", "Cleo"]) == "Ana, Ben and Cleo"


def test_a_strength_or_small_class_says_counts_without_percent():
    assert paragraph(logged=3, members=9)[0] == "3 of 9 members logged."
    # Who logged may have left since: then only who logged is told.
    assert paragraph(logged=5, members=3)[0] == "5 members logged."
