"""Classes: drafts change, open ones don't; repeats are recognised."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scoring.models import Workout
from scoring.problems import Refused
from scoring.selectors.classes import logged_and_missing, open_to_log
from scoring.selectors.results import TIMES, history, repeats
from scoring.services.classes import change_draft, close_class, create_class, open_class
from scoring.services.workouts import preview, save_workout

from ..conftest import NOW, TWO_LADDERS
from .classes import log, make_class


def test_the_same_workout_under_another_title_is_recognised(people):
    one = save_workout(gym=people.gym, text=TWO_LADDERS, author=people.coach)
    same = save_workout(gym=people.gym, text=TWO_LADDERS.upper().replace("\n", "\r\n"), author=None)
    renamed = TWO_LADDERS.replace("Two ladders and a tide", "Tide again")
    other = save_workout(gym=people.gym, text=renamed, author=people.coach)
    assert one.fingerprint == same.fingerprint == other.fingerprint
    assert one.pk != other.pk
    heavier = save_workout(gym=people.gym, text=TWO_LADDERS.replace("20 kg", "24 kg"), author=None)
    assert heavier.fingerprint != one.fingerprint
    again = save_workout(gym=people.gym, text=TWO_LADDERS, author=people.owner)
    assert again.pk == one.pk


def test_a_board_that_cannot_be_read_is_refused_line_by_line(people):
    with pytest.raises(Refused) as refused:
        create_class(
            gym=people.gym, coach=people.coach, starts_at=NOW,
            text="Bad\ncap 99:99:99\n\n5 rounds\n10 push-up @ zzz",
        )  # fmt: skip
    assert {item.line for item in refused.value.items} == {2, 5}
    assert Workout.objects.count() == 0


def test_a_preview_keeps_nothing(people):
    seen = preview(text=TWO_LADDERS)
    assert seen.course.block_end(2) == 132 and seen.text == TWO_LADDERS
    assert Workout.objects.count() == 0


def test_a_tie_break_block_must_end(people):
    with pytest.raises(Refused) as refused:
        make_class(people, tie_break_block=3)
    assert refused.value.items[0].column == "tie_break_block"


def test_a_draft_changes_and_an_open_class_does_not(people):
    draft = make_class(people, is_open=False)
    changed = change_draft(
        streamed_class=draft, by=people.coach, text=TWO_LADDERS.replace("18:00", "20:00"), note="hi"
    )
    assert "cap 20:00" in changed.workout.text and changed.note == "hi"
    opened = open_class(streamed_class=changed, by=people.coach, now=NOW)
    with pytest.raises(Refused) as refused:
        change_draft(streamed_class=opened, by=people.coach, note="late")
    assert refused.value.kind == "conflict"


def test_a_change_of_a_draft_somebody_else_changed_is_refused(people):
    draft = make_class(people, is_open=False)
    seen = draft.board_version
    change_draft(streamed_class=draft, by=people.owner, note="first", expected_version=seen)
    with pytest.raises(Refused) as refused:
        change_draft(streamed_class=draft, by=people.coach, note="second", expected_version=seen)
    assert refused.value.kind == "conflict"


def test_pressing_open_twice_is_harmless_and_a_draft_cannot_be_closed(people):
    draft = make_class(people, is_open=False)
    with pytest.raises(Refused):
        close_class(streamed_class=draft, by=people.coach, now=NOW)
    opened = open_class(streamed_class=draft, by=people.coach, now=NOW)
    again = open_class(streamed_class=draft, by=people.coach, now=NOW + timedelta(hours=1))
    assert again.opened_at == opened.opened_at


def test_the_coach_sees_who_logged_and_who_usually_does(people):
    for days in (9, 7, 5):
        earlier = make_class(people)
        earlier.starts_at = NOW - timedelta(days=days)
        earlier.save()
        log(earlier, people.ben, "1+0")
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    there = logged_and_missing(streamed_class=streamed, viewer=people.coach)
    assert [r.member for r in there.logged] == [people.ana]
    assert people.ben in there.missing and people.ana not in there.missing
    assert there.usual == {people.ben.pk}
    assert streamed not in open_to_log(viewer=people.ana, now=NOW)
    assert streamed in open_to_log(viewer=people.ben, now=NOW)


def test_history_compares_repeats_with_the_time_before(people):
    for days, mark in ((21, "1+0"), (14, "2+0"), (7, "2+9")):
        streamed = make_class(people)
        streamed.starts_at = NOW - timedelta(days=days)
        streamed.save()
        log(streamed, people.ana, mark)
        log(streamed, people.ben, "1+0")
    rows = history(member=people.ana, viewer=people.ana)
    assert [r.score.fact.mark for r in rows] == ["2+9", "2+0", "1+0"]
    # 156 -> 180 reps is +15.4 %, 180 -> 189 is +5 %
    assert [r.change for r in rows] == ["+5", "+15.4", None]
    assert [r.repeats for r in rows] == [3, 2, 1]
    assert rows[2].level is None and rows[0].rank == 1
    again = repeats(found=history(member=people.ana, viewer=people.coach))
    assert [(a.times, [r.score.fact.mark for r in a.rows]) for a in again] == [
        (3, ["1+0", "2+0", "2+9"])
    ]
    # A page of it is the same as that part of the whole.
    assert [r.change for r in rows[1:2]] == ["+15.4"] and rows[-1].repeats == 1


def test_a_long_history_asks_no_more_for_a_page_than_a_short_one(people):
    """The page, what each row is compared with, and the repeats: whatever the number."""

    def asked():
        with CaptureQueriesContext(connection) as queries:
            found = history(member=people.ana, viewer=people.ana)
            page = found[:2]
            last = repeats(found=found)
        assert len(page) == 2 and len(last) == 1 and len(last[0].rows) <= TIMES
        return len(queries), last[0].times

    counts = []
    for number in range(TIMES + 3):
        streamed = make_class(people)
        streamed.starts_at = NOW - timedelta(days=number)
        streamed.save()
        log(streamed, people.ana, "2+0")
        if number >= 2:
            counts.append(asked())
    assert len({queries for queries, _ in counts}) == 1
    assert [times for _, times in counts] == list(range(3, TIMES + 4))
