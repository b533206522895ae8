"""Past workouts are found by words, movement, pattern, length and when they ran."""

from datetime import date, timedelta

import pytest
from django.core.management import call_command

from scoring.core.movements import Pattern
from scoring.models import Workout, WorkoutIndex
from scoring.selectors.searching import Asked, search, went
from scoring.services.classes import create_class, open_class
from scoring.services.searching import index_workouts, missing_index
from scoring.services.workouts import fingerprint, save_workout

from ..conftest import FOR_TIME, NOW, TWO_LADDERS
from .classes import log, make_class

QUAY = "Café on the quay\n\namrap 12:00\n10 push-up\n10 air squat\n"
OWN = "Sofa day\ncap 6:00\n\n3 rounds\n12 sofa shuffle\n"


@pytest.fixture
def kept(people):
    for text in (TWO_LADDERS, FOR_TIME, QUAY, OWN):
        save_workout(gym=people.gym, text=text, author=people.coach)
    save_workout(gym=people.stranger_gym, text=QUAY, author=people.foreign_coach)
    index_workouts()
    return people


def titles(people, **asked):
    found = search(viewer=people.coach, asked=Asked(**asked), now=NOW)
    return {row.title for row in found}


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"words": "ladders"}, {"Two ladders", "Two ladders and a tide"}),
        ({"words": "LADDERS tide"}, {"Two ladders and a tide"}),
        ({"words": "cafe"}, {"Café on the quay"}),
        ({"words": "hollow"}, {"Two ladders", "Two ladders and a tide"}),
        ({"words": "100%"}, set()),
        ({"movement": "Push ups"}, {"Café on the quay"}),
        ({"movement": "knee pushup"}, {"Two ladders", "Two ladders and a tide"}),
        ({"movement": "sofa shuffles"}, {"Sofa day"}),
        ({"pattern": Pattern.LUNGE}, {"Two ladders and a tide"}),
        ({"shortest": 12 * 60}, {"Two ladders", "Two ladders and a tide", "Café on the quay"}),
        ({"longest": 12 * 60}, {"Café on the quay", "Sofa day"}),
        ({"shortest": 12 * 60, "longest": 14 * 60}, {"Two ladders", "Café on the quay"}),
        ({"movement": "push-up", "longest": 60}, set()),
    ],
)
def test_what_is_asked_for_is_found_and_nothing_else(kept, asked, found):
    assert titles(kept, **asked) == found


def test_nobody_finds_another_gyms_and_members_only_those_of_their_classes(kept):
    assert {w.gym for w in search(viewer=kept.coach, asked=Asked(), now=NOW)} == {kept.gym}
    assert not search(viewer=kept.ana, asked=Asked(), now=NOW).exists()
    assert not search(viewer=None, asked=Asked(), now=NOW).exists()


def test_when_it_ran_is_a_day_of_the_gym_and_drafts_and_what_is_to_come_never_ran(kept):
    make_class(kept, TWO_LADDERS)  # 2026-11-24, 18:30
    make_class(kept, QUAY, is_open=False)
    to_come = create_class(
        gym=kept.gym, coach=kept.coach, starts_at=NOW + timedelta(hours=1), text=FOR_TIME
    )
    open_class(streamed_class=to_come, by=kept.coach, now=NOW)
    day = date(2026, 11, 24)
    assert titles(kept, ran_from=day, ran_to=day) == {"Two ladders and a tide"}
    assert titles(kept, ran_to=day - timedelta(days=1)) == set()
    assert titles(kept, ran_from=day + timedelta(days=1)) == set()


def test_the_last_to_run_comes_first_with_how_often_whatever_its_title(kept):
    other = "Another name" + TWO_LADDERS[TWO_LADDERS.index("\n") :]
    assert fingerprint(other) == fingerprint(TWO_LADDERS)
    make_class(kept, TWO_LADDERS)
    last = make_class(kept, other)
    index_workouts()
    found = search(viewer=kept.coach, asked=Asked(), now=NOW)
    assert {w.title for w in found[:2]} == {"Two ladders and a tide", "Another name"}
    assert {(w.times, w.last_class) for w in found[:2]} == {(2, last.pk)}
    assert [w.times for w in found[2:]] == [None] * 3


def test_how_it_went_is_the_middle_of_the_board(kept, django_assert_num_queries):
    streamed, empty = make_class(kept), make_class(kept, QUAY)
    log(streamed, kept.ana, "3+2")
    log(streamed, kept.ben, "2+9")
    log(streamed, kept.cleo, "1+0", "tuck rock")
    with django_assert_num_queries(2):
        told = went(viewer=kept.coach, classes=[streamed.pk, empty.pk, None])
    assert set(told) == {streamed.pk}
    assert (told[streamed.pk].logged, told[streamed.pk].as_prescribed) == (3, 2)
    assert told[streamed.pk].typical.startswith("2 rounds + 9")


@pytest.mark.parametrize("marks", [["3+2", "2+9"], ["3+2", "2+9", "1+1", "0+4"]])
def test_of_two_in_the_middle_the_better_one_is_told(kept, marks):
    streamed = make_class(kept)
    people = [kept.ana, kept.ben, kept.cleo, kept.coach]
    for member, mark in zip(people, marks, strict=False):
        log(streamed, member, mark)
    told = went(viewer=kept.coach, classes=[streamed.pk])[streamed.pk]
    assert told.typical.startswith("3 rounds + 2" if len(marks) == 2 else "2 rounds + 9")


def test_the_index_is_made_when_it_is_missing_or_old_and_only_then(kept):
    assert not missing_index().exists() and index_workouts() == 0
    WorkoutIndex.objects.filter(workout__title="Sofa day").update(version=0, words="")
    assert titles(kept, words="sofa") == set()
    assert index_workouts(gym=kept.stranger_gym) == 0
    assert index_workouts(gym=kept.gym) == 1 and titles(kept, words="sofa") == {"Sofa day"}


def test_the_command_makes_all_of_it_anew(kept, capsys):
    WorkoutIndex.objects.update(words="")
    call_command("index_workouts", "--all")
    assert capsys.readouterr().out == "5 workouts can be found now.\n"
    assert titles(kept, words="sofa") == {"Sofa day"}


def test_a_text_that_older_rules_kept_is_found_by_its_words(people):
    text = "Old one\n\nthis line was understood once\n"
    Workout.objects.create(
        gym=people.gym, title="Old one", text=text, source=text, fingerprint="x" * 64
    )
    index_workouts()
    assert titles(people, words="understood") == {"Old one"}


def test_thousands_are_searched_in_as_many_queries_as_ten(people, django_assert_num_queries):
    rows = [
        Workout(
            gym=people.gym, title=f"Number {n}", source="", fingerprint=f"{n:064}",
            text=f"Number {n}\n\namrap {n % 30 + 1}:00\n10 push-up\n",
        )
        for n in range(1200)
    ]  # fmt: skip
    Workout.objects.bulk_create(rows)
    assert [index_workouts(gym=people.gym) for _ in range(4)] == [500, 500, 200, 0]
    found = search(viewer=people.coach, asked=Asked(movement="push-up", longest=600), now=NOW)
    with django_assert_num_queries(2):
        assert found.count() == 400
        assert len(found[:20]) == 20
