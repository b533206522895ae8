"""A workout's runs: the same members paired, whoever else came."""

from math import exp, log

import pytest
from django.urls import reverse
from scipy import stats

from scoring.selectors.runs import runs_of

from ..conftest import FOR_TIME, NOW, add_member
from .classes import make_class
from .held import held


def runs(people, pk, viewer=None):
    return runs_of(viewer=viewer or people.coach, pk=pk, now=NOW)


def test_runs_are_found_by_the_workout_whatever_its_title(people):
    first = held(people, 9, {people.ana: "10:00"})
    again = held(people, 2, {people.ana: "9:00"}, text=FOR_TIME.replace("Two ladders", "Again"))
    held(people, 5, {people.ana: "9:00"}, text=FOR_TIME.replace("18-12-6", "18-12-8"))
    for streamed in (first, again):
        found = runs(people, streamed.workout_id)
        assert [run.streamed.pk for run in found.runs] == [first.pk, again.pk]
    assert runs(people, first.workout_id, people.ana) is None
    assert runs(people, first.workout_id, people.foreign_coach) is None


def test_the_change_is_of_those_who_did_both_runs_in_a_row(people):
    """A newcomer far quicker than all moves the middle of the board and not the change."""
    members = [add_member(people.gym, f"Member {n}") for n in range(6)]
    seconds = [480, 500, 520, 540, 560, 600]
    later = [475, 480, 515, 530, 540, 580]
    clock = "{0[0]}:{0[1]:02}".format
    streamed = held(
        people, 9, {m: clock(divmod(s, 60)) for m, s in zip(members, seconds, strict=True)}
    )
    marks = {m: clock(divmod(s, 60)) for m, s in zip(members, later, strict=True)}
    held(people, 2, {**marks, people.ana: "3:00", people.ben: "3:01"})
    first, second = runs(people, streamed.workout_id).runs
    assert first.change is None and first.is_first
    expected = stats.ttest_rel(
        [-log(s) for s in later], [-log(s) for s in seconds]
    ).confidence_interval()
    assert second.change.n == 6
    assert (second.change.low, second.change.high) == pytest.approx(tuple(expected))
    assert exp(second.change.value) == pytest.approx(1.0259, abs=1e-3)


def test_the_middle_of_the_board_is_a_mark_or_the_two_beside_it(people):
    streamed = held(people, 9, {people.ana: "10:00", people.ben: "11:00", people.cleo: "12:00"})
    held(people, 2, {people.ana: "10:00", people.ben: "11:00"})
    held(people, 1)
    assert [run.marks for run in runs(people, streamed.workout_id).runs] == [
        ("11:00",), ("10:00", "11:00"), (),
    ]  # fmt: skip


def test_runs_whose_reps_weigh_otherwise_are_not_compared(people):
    streamed = held(people, 9, {people.ana: "10:00"})
    held(people, 2, {people.ana: "9:00"}, weighted=True)
    second = runs(people, streamed.workout_id).runs[1]
    assert not second.is_alike and second.change is None


def test_nobody_in_both_and_nothing_done_are_no_change(people):
    streamed = held(people, 9, {people.ana: "10:00", people.ben: "0 reps"})
    held(people, 2, {people.cleo: "9:00", people.ben: "8:00"})
    second = runs(people, streamed.workout_id).runs[1]
    assert second.change is None and second.results == 2


def test_the_page_says_each_change_in_words_and_a_picture(people, client):
    members = [add_member(people.gym, f"Member {n}") for n in range(6)]
    streamed = held(people, 400, {m: f"10:{n:02}" for n, m in enumerate(members)})
    held(people, 399, {m: f"9:{n * 2:02}" for n, m in enumerate(members)})
    held(people, 398, {people.ana: "9:00"})
    client.force_login(people.coach.user)
    answer = client.get(reverse("workout-runs", args=[streamed.workout_id]))
    told = " ".join(answer.content.decode().split())
    assert "the same 6 members: clearly faster" in told and "the first run" in told
    assert 'aria-label="Change since the run before: +' in told
    assert "nobody did both" in told and "Given 3 times" in told


def test_a_workout_that_was_not_given_yet_says_so(people, client):
    streamed = make_class(people, is_open=False)
    client.force_login(people.coach.user)
    answer = client.get(reverse("workout-runs", args=[streamed.workout_id]))
    assert "It has not been given yet" in answer.content.decode()


def test_how_many_finish_is_told_over_runs_with_other_caps(people, client):
    """Six under 14:00 and six under 18:00, two of them the same people: the latest counts."""
    members = [add_member(people.gym, f"Member {n}") for n in range(10)]
    short, later = members[:6], members[4:]
    marks = ["12:00", "13:00", "120 reps", "118 reps", "117 reps", "116 reps"]
    streamed = held(people, 9, dict(zip(short, marks, strict=True)))
    longer = FOR_TIME.replace("cap 14:00", "cap 18:00").replace("Two ladders", "More time")
    ends = ["12:30", "15:00", "15:00", "16:00", "130 reps", "129 reps"]
    held(people, 2, dict(zip(later, ends, strict=True)), text=longer)
    found = runs(people, streamed.workout_id)
    assert len(found.runs) == 1  # as a run the other is another workout
    told = found.finishers
    assert (told.caps, told.runs, told.curve.people) == ((840, 1080), 2, 10)
    # Two of four, and one of six, by 14:00; then five are left, of whom three finish.
    assert told.curve.left == pytest.approx((0.9, 0.8, 0.7, 0.7 * 3 / 5, 0.7 * 2 / 5))
    assert told.curve.half == 900
    client.force_login(people.coach.user)
    page = client.get(reverse("workout-runs", args=[streamed.workout_id])).content.decode()
    page = " ".join(page.replace("\N{NO-BREAK SPACE}", " ").split())
    assert "Half have finished by 15:00." in page
    assert "latest result of each of 10 members, in 2 runs with a cap of 14:00 or 18:00." in page
    assert '<th scope="row">14:00</th> <td>30 %, very likely 11 to 60 %</td>' in page
    assert '<th scope="row">18:00</th> <td>72 %, very likely' in page


def test_where_nobody_can_finish_nothing_is_told_of_it(people):
    amrap = held(people, 3, {people.ana: "40 reps"}, text="Tide\n\namrap 6:00\n10 burpee\n")
    assert runs(people, amrap.workout_id).finishers is None
    empty = held(people, 3)
    assert runs(people, empty.workout_id).finishers is None
