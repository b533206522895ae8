"""Whom a coach should have a word with: every reason on histories made by hand."""

from datetime import timedelta
from math import prod

import pytest

from members.models import Membership, Role
from members.services import remove_member
from scoring.models import Score
from scoring.problems import Refused
from scoring.selectors.after import after
from scoring.selectors.classes import usual_members
from scoring.selectors.follow_up import follow_ups, person_of
from scoring.selectors.follow_up_facts import facts_of
from scoring.services.classes import close_class, reopen_class
from scoring.services.correcting import withdraw_result
from scoring.services.follow_up_words import save_silent_days
from scoring.services.pains import tell_pain

from ..conftest import NOW, add_member
from .classes import log
from .follow_up_scenes import AFTER, LIFT, OTHER, easy_rocks, falling, found, held, usual

pytestmark = pytest.mark.django_db


def test_a_first_result_is_told_once(people):
    log(held(people, 2), people.ana, "2+9")
    told = found(people, people.ana)["first"]
    assert told.evidence == (
        "First result here: 2+9 in Two ladders and a tide on Sunday 22 November."
    )
    log(held(people, 1, OTHER), people.ana, "5+0")
    tuesday = held(people, 0, OTHER)
    log(tuesday, people.ana, "5+0")
    assert "first" in found(people, people.ana)  # still of these two weeks
    assert "first" not in found(people, people.ana, tuesday)


def test_a_result_before_the_weeks_that_are_looked_at_is_not_forgotten(people):
    log(held(people, 200), people.ana, "2+9")
    streamed = held(people)
    log(streamed, people.ana, "2+9")
    assert "first" not in found(people, people.ana, streamed)


def test_a_best_beats_every_earlier_time_of_the_same_workout(people):
    for days, mark in [(200, "2+9"), (100, "2+3"), (0, "2+10")]:
        log(held(people, days), people.ana, mark)
    told = found(people, people.ana)["best"]
    assert told.evidence == (
        "2+10 in Two ladders and a tide on Tuesday 24 November, the best of 3 times. "
        "Before: 2+9 on 8 May."
    )


def test_a_best_done_otherwise_is_told_by_the_mark_it_is_compared_by(people):
    log(held(people, 7), people.ana, "2+9", options="2.1 @ 10 kg")
    newest = log(held(people, 0), people.ana, "2+9").result
    told = found(people, people.ana)["best"]
    before = Score.objects.exclude(result=newest).get().adjusted_text
    assert before != "2 rounds + 9"
    assert told.evidence == (
        "2+9 in Two ladders and a tide on Tuesday 24 November, the best of 2 times. "
        f"Before: 2+9 (adjusted {before}) on 17 November."
    )
    assert told.values["result"] == "2+9"


@pytest.mark.parametrize(("marks", "is_best"), [
    (["2+9", "2+10"], True), (["2+9", "2+9"], False), (["2+9", "2+8"], False),
    (["2+9"], False), (["3+0", "2+0", "2+9"], False),
])  # fmt: skip
def test_a_best_is_what_the_members_own_page_calls_one(people, marks, is_best):
    for number, mark in enumerate(marks):
        log(held(people, 9 - number), people.ana, mark)
    newest = Score.objects.order_by("-streamed_class__starts_at").first()
    assert after(score=newest, viewer=people.coach).is_best is is_best
    assert ("best" in found(people, people.ana, newest.streamed_class)) is is_best


def test_another_workout_or_a_withdrawn_result_is_nothing_to_beat(people):
    log(held(people, 3, OTHER), people.ana, "1+0")
    first = log(held(people, 2), people.ana, "1+0").result
    withdraw_result(result=first, by=people.coach, reason="not theirs", now=NOW)
    log(held(people, 1), people.ana, "2+0")
    assert "best" not in found(people, people.ana)


@pytest.mark.parametrize(("days", "between", "is_back"), [
    (21, 2, True), (20, 2, False), (21, 1, False), (120, 2, True),
])  # fmt: skip
def test_three_weeks_away_from_classes_that_were_held(people, days, between, is_back):
    log(held(people, days), people.ana, "2+9")
    for number in range(between):
        held(people, 3 + number)
    log(held(people), people.ana, "2+9")
    told = found(people, people.ana)
    assert ("back" in told) is is_back
    if is_back:
        assert f"{days} days earlier" in told["back"].evidence


@pytest.mark.parametrize(("effort", "is_told"), [(10, True), (9, False), (None, False)])
def test_an_effort_of_ten(people, effort, is_told):
    log(held(people), people.ana, "2+9", effort=effort)
    assert ("effort" in found(people, people.ana)) is is_told


def test_slower_three_classes_in_a_row_at_no_less_effort(people):
    streamed = falling(people)
    told = found(people, people.ana, streamed)["falling"]
    assert "with effort 7 → 7 → 8 → 7" in told.evidence
    assert "one in 24" in told.evidence
    assert "falling" not in found(people, Membership.objects.get(display_name="Other 2"), streamed)


def test_the_index_is_drawn_to_the_middle_of_the_class(people):
    """Six paces: the mean of their logarithms is 100, and each is believed in part."""
    streamed = held(people, 0)
    marks = ["9+0", "2+9", "2+0", "0+9", "5+0", "1+12"]
    members = [people.ana, *(add_member(people.gym, f"Member {n}") for n in range(5))]
    for member, mark in zip(members, marks, strict=True):
        log(streamed, member, mark)
    facts = facts_of(gym=people.gym, streamed_class=None, now=AFTER)
    reps = [132 + 24 * 9, 189, 180, 141, 252, 168]
    middle = prod(reps) ** (1 / 6)
    [row] = facts.by_member[people.ana.pk]
    assert 100 < facts.index(row) < round(100 * reps[0] / middle)


@pytest.mark.parametrize("efforts", [(7, 7, 6, 7), (7, None, 7, 7), (None,) * 4])
def test_an_easier_class_or_one_without_an_effort_is_no_fall(people, efforts):
    streamed = falling(people, efforts)
    assert "falling" not in found(people, people.ana, streamed)


def test_a_lift_has_no_pace_and_breaks_no_row(people):
    falling(people)
    lift = held(people, 0, LIFT)
    log(lift, people.ana, "80 kg x 3", effort=7)
    assert "falling" in found(people, people.ana)


def test_a_pain_is_told_with_whom_to_ask_and_comes_first(people):
    streamed = held(people)
    log(streamed, people.ana, "2+9", effort=10)
    tell_pain(
        streamed_class=streamed, member=people.ana, areas=["chest", "knee"], words="sharp", now=NOW
    )
    person = person_of(viewer=people.coach, member=people.ana, now=AFTER)
    assert [one.reason.value for one in person.reasons] == ["pain", "effort", "first"]
    told = person.reasons[0]
    assert told.evidence == (
        "Said after Two ladders and a tide on Tuesday 24 November: chest, knee, “sharp”."
    )
    assert "emergency number" in told.cautions[0] and "physiotherapist" in told.cautions[1]


def test_without_a_result_a_pain_is_told_too_and_taken_back_it_is_not(people):
    streamed = held(people, 30)
    tell_pain(streamed_class=streamed, member=people.ana, areas=["knee"], words="", now=NOW)
    assert "pain" in found(people, people.ana)  # told today of a class a month ago
    assert "pain" in found(people, people.ana, streamed)
    tell_pain(streamed_class=streamed, member=people.ana, areas=[], words="", now=NOW)
    assert found(people, people.ana, streamed) == {}


def test_a_result_that_hurt_is_neither_praised_nor_a_reason_for_more(people):
    log(held(people, 7), people.ana, "2+0")
    streamed = held(people)
    log(streamed, people.ana, "3+0")
    assert "best" in found(people, people.ana)
    tell_pain(streamed_class=streamed, member=people.ana, areas=["elbow"], words="", now=NOW)
    assert set(found(people, people.ana, streamed)) == {"pain"}


def test_who_hurts_now_is_not_praised_for_the_class_before_either(people):
    log(held(people, 20), people.ana, "2+0")
    log(held(people, 7), people.ana, "3+0")
    tuesday = held(people)
    tell_pain(streamed_class=tuesday, member=people.ana, areas=["elbow"], words="", now=NOW)
    assert set(found(people, people.ana)) == {"pain"}


def test_an_option_that_looks_easy_could_be_left_behind(people):
    streamed = easy_rocks(people)
    told = found(people, people.ana, streamed)["option"]
    assert told.evidence == (
        "tuck rock in place of hollow rock: the last four results with it came 2 of 6, 2 of 6, "
        "2 of 6, 2 of 6, with effort 6, 6, 6, 6. They could try hollow rock; you decide, and "
        "only if nothing hurts."
    )
    assert told.values["option"] == "tuck rock"


@pytest.mark.parametrize("how", [{"effort": 7}, {"effort": None}, {"mark": "1+1"}, {"last": 7}])
def test_a_hard_or_middling_result_is_no_reason_for_a_harder_version(people, how):
    streamed = easy_rocks(people, **how)
    assert "option" not in found(people, people.ana, streamed)


def test_a_lighter_load_alone_is_no_option_to_leave(people):
    streamed = easy_rocks(people, option="goblet squat @ 12 kg")
    assert "option" not in found(people, people.ana, streamed)


@pytest.mark.parametrize(("area", "days", "is_told"), [
    ("low back", 20, False),  # a rock loads it
    ("chest", 20, False),
    ("elsewhere", 20, False),
    ("knee", 20, True),
    ("low back", 43, True),  # six weeks are over
])  # fmt: skip
def test_never_while_the_part_that_it_loads_has_hurt_lately(people, area, days, is_told):
    streamed = easy_rocks(people)
    before = held(people, days)
    told_at = NOW - timedelta(days=days)
    tell_pain(streamed_class=before, member=people.ana, areas=[area], words="", now=told_at)
    assert ("option" in found(people, people.ana, streamed)) is is_told


@pytest.mark.parametrize(("times", "is_told"), [(3, True), (2, False)])
def test_who_usually_comes_and_has_not_logged(people, times, is_told):
    usual(people, times=times)
    tuesday = held(people)
    close_class(streamed_class=tuesday, by=people.coach, now=NOW)
    told = found(people, people.ana, tuesday)
    assert ("missed" in told) is is_told
    assert is_told is (people.ana.pk in usual_members(tuesday))
    if is_told:
        assert "3 of the last 6 classes before it" in told["missed"].evidence
        assert "missed" in found(people, people.ana)
        reopen_class(streamed_class=tuesday, by=people.coach, now=NOW)
        log(tuesday, people.ana, "2+9")
        assert "missed" not in found(people, people.ana, tuesday)


def test_nobody_is_missing_while_the_class_runs(people):
    usual(people)
    tuesday = held(people)
    assert "missed" not in found(people, people.ana, tuesday, now=NOW + timedelta(minutes=30))
    assert "missed" in found(people, people.ana, tuesday, now=NOW + timedelta(hours=12))
    close_class(streamed_class=tuesday, by=people.coach, now=NOW + timedelta(hours=1))
    assert "missed" in found(people, people.ana, tuesday, now=NOW + timedelta(hours=1))


@pytest.fixture
def quiet(people):
    """Everybody joined long ago; Ana logged 20 days ago, and classes went on."""
    Membership.objects.update(joined_at=NOW - timedelta(days=60))
    log(held(people, 20), people.ana, "2+9")
    for days in (5, 3):
        log(held(people, days), people.cleo, "2+9")
    return people


def test_silence_is_told_after_as_many_days_as_the_gym_chose(quiet):
    told = found(quiet, quiet.ana)["silent"]
    assert told.evidence == "The last result is of 4 November, 20 days ago. Classes held since: 2."
    assert "Joined on 25 September, 60 days ago" in found(quiet, quiet.ben)["silent"].evidence
    assert "silent" not in found(quiet, quiet.cleo)
    save_silent_days(by=quiet.coach, days=21, now=NOW)
    assert "silent" not in found(quiet, quiet.ana)
    with pytest.raises(Refused):
        save_silent_days(by=quiet.coach, days=2, now=NOW)
    with pytest.raises(Refused):
        save_silent_days(by=quiet.ana, days=20, now=NOW)


def test_coaches_and_who_left_are_not_called_silent(quiet):
    assert quiet.owner.role == Role.OWNER and "silent" not in found(quiet, quiet.owner)
    remove_member(membership=quiet.ana, by=quiet.owner, now=NOW)
    assert [p.member for p in follow_ups(viewer=quiet.coach, now=AFTER)] == [quiet.cleo, quiet.ben]


def test_of_one_class_silence_is_no_matter(quiet):
    assert "silent" not in found(quiet, quiet.ana, held(quiet))
