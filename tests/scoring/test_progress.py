"""Progress: figures by hand on course L, and nobody else's."""

from datetime import timedelta
from fractions import Fraction

import pytest
from django.urls import reverse

from scoring.core.training import Week
from scoring.pages.progress import load_picture, volume_picture
from scoring.problems import Refused
from scoring.selectors import progress
from scoring.selectors.after import after
from scoring.selectors.progress import Volume
from scoring.services.classes import create_class, open_class

from ..conftest import NOW, TWO_LADDERS
from .classes import log, make_class
from .test_pages import text_of

LIFT = "Heavy day\n\nmax load, 3 reps\nback squat\n"


def held(people, text=TWO_LADDERS, *, days=0):
    streamed = create_class(
        gym=people.gym, coach=people.coach, starts_at=NOW + timedelta(days=days), text=text
    )
    return open_class(streamed_class=streamed, by=people.coach, now=NOW)


def scores(people):
    return progress.own_scores(member=people.ana, viewer=people.ana)


@pytest.fixture
def three_times(people):
    """Course L three weeks in a row: 189, 189 with 36 tuck rocks (180), 190 reps."""
    for week, (mark, options) in enumerate([("2+9", ""), ("2+9", "tuck rock"), ("2+10", "")]):
        log(held(people, days=7 * week), people.ana, mark, options, effort=7)
    return scores(people)


def test_a_repeat_says_what_changed(people, three_times):
    first, second, third = three_times
    assert after(score=first, viewer=people.ana).times == 1
    told = after(score=second, viewer=people.ana)
    assert (told.times, told.is_best, told.before.reps) == (2, False, 0)
    assert told.before.percent == "-4.8"  # 180 / 189 − 1
    assert (told.before.options_then, told.before.options_now) == ("", "tuck rock")
    last = after(score=third, viewer=people.ana)
    assert last.is_best and last.beaten.fact.mark == "2+9" and last.before.reps == 1
    assert after(score=third, viewer=people.ben) is None
    assert after(score=third, viewer=people.coach).times == 3


def test_level_with_the_best_is_not_a_new_best(people):
    for week in range(2):
        log(held(people, days=7 * week), people.ana, "2+9")
    assert not after(score=scores(people)[1], viewer=people.ana).is_best


def test_bests_are_of_repeats_and_lifts(people, three_times):
    log(held(people, LIFT, days=30), people.ana, "80 kg x 3")
    log(held(people, "Once\n\namrap 10:00\n10 burpee\n", days=31), people.ana, "5+0")
    found = progress.bests(scores(people))
    assert [(b.score.adjusted_text, b.times, b.is_lift) for b in found] == [
        ("80 kg x 3", 1, True),
        ("2 rounds + 10", 3, False),
    ]


def test_session_load_is_the_rating_times_the_minutes_on_the_clock(three_times):
    # effort 7 × 18 minutes, once a week
    assert [week.load for week in progress.load_weeks(three_times)] == [126, 126, 126]


def test_reps_by_week_are_those_that_were_done(three_times):
    weeks = progress.volumes(three_times)
    assert [sum(w.movements.values()) for w in weeks] == [189, 189, 190]
    assert weeks[0].movements["hollow rock"] == 36 and "tuck rock" not in weeks[0].movements
    assert weeks[1].movements["tuck rock"] == 36 and "hollow rock" not in weeks[1].movements
    assert [len(week.scores) for week in weeks] == [1, 1, 1]
    assert weeks[0].patterns["squat"] == 36 and weeks[0].patterns["pull"] == 30


def test_sides_are_summed_from_the_breakdowns(three_times):
    rows = {b.movement: (b.starting, b.other) for b in progress.balances(three_times)}
    # 15 + 15 a class: 14 = 7+7, 10 = 5+5, 6 = 3+3
    assert rows["single-arm row"] == (45, 45)
    [row] = [b for b in progress.balances(three_times) if b.movement == "single-arm row"]
    assert [(one, two) for _, one, two in row.parts] == [(15, 15)] * 3


def test_steps_towards_as_prescribed(people, three_times):
    found = progress.steps(three_times)
    assert list(found) == ["hollow rock"]
    assert [step.done_as for step in found["hollow rock"]] == [
        "as prescribed", "tuck rock", "as prescribed",
    ]  # fmt: skip
    log(held(people, days=30), people.ana, "2+9", "tuck rock: 10")
    assert (
        progress.steps(scores(people))["hollow rock"][-1].done_as == "as prescribed and tuck rock"
    )


def test_attendance_counts_classes_since_joining(people):
    people.ana.joined_at = NOW + timedelta(days=5)
    people.ana.save()
    for week in range(3):
        streamed = held(people, days=7 * week)
    log(streamed, people.ana, "2+9")
    now = NOW + timedelta(days=10)
    weeks = progress.attendance(member=people.ana, viewer=people.ana, now=now)
    # The first was before she joined, the last is still to come, but she has logged in it.
    assert [[there for _, there in week.classes] for week in weeks] == [[True], [False]]
    log(make_class(people), people.ana, "2+9")  # one she logged in counts whenever it was
    weeks = progress.attendance(member=people.ana, viewer=people.ana, now=now)
    assert sum(there for week in weeks for _, there in week.classes) == 2


def test_progress_is_ones_own(people, three_times):
    assert len(progress.own_scores(member=people.ana, viewer=people.coach)) == 3
    for viewer in (people.ben, people.foreign_coach, None):
        assert progress.own_scores(member=people.ana, viewer=viewer) == []
        assert progress.attendance(member=people.ana, viewer=viewer, now=NOW) == []


def test_the_page_shows_it_all_and_starts_empty(people, three_times, client):
    client.force_login(people.ben.user)
    assert "Nothing yet" in text_of(client.get(reverse("progress")))
    client.force_login(people.ana.user)
    page = client.get(reverse("progress"))
    said = text_of(page)
    for words in ("2 rounds + 10", "Hollow rock: as prescribed", "single-arm row made of", "126"):
        assert words in said
    assert page.content.decode().count("<svg") == 2 and "style=" not in page.content.decode()


def test_training_terms_are_told_in_plain_words_and_their_formula_on_asking(
    people, three_times, client
):
    client.force_login(people.ana.user)
    page = client.get(reverse("progress")).text
    plain, _, formula = page[page.index("Monotony:") :].partition("<details>")
    assert "how alike the days of a week were" in plain and "deviation" not in plain
    assert "standard deviation, rest days counting 0" in formula.partition("</details>")[0]


def test_thousands_are_set_apart():
    weeks = (Week(NOW.date(), (Fraction(1234),)), Week(NOW.date(), (Fraction(2345),)))
    assert "the last at 2,345." in load_picture(weeks)
    volumes = [Volume(NOW.date(), {"squat": 1500}, {}, ())] * 2
    assert "the last with 1,500 reps." in volume_picture(tuple(volumes))


def test_the_longest_unbroken_sets_are_bests_of_how_they_were_done(people):
    for week, (options, noted) in enumerate(
        [("", {"1.1": 12, "1.2": 9}), ("tuck rock", {"1.1": 18, "1.2": 15}), ("", {"1.2": 6})]
    ):
        log(held(people, days=7 * week), people.ana, "2+9", options, unbroken=noted)
    found = {b.movement: b.reps for b in progress.unbroken_bests(scores(people))}
    assert found == {"goblet squat": 18, "hollow rock": 9, "tuck rock": 15}


@pytest.mark.parametrize("noted", [{"1.1": 37}, {"1.1": 0}, {"9.9": 3}])
def test_more_in_a_row_than_there_were_is_refused(people, noted):
    with pytest.raises(Refused):
        log(held(people), people.ana, "2+9", unbroken=noted)
