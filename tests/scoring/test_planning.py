"""A plan beside what the group did: who averages what, which pattern runs on, what was used."""

from datetime import timedelta

import pytest

from members.models import Membership, User
from scoring.core import notation
from scoring.core.remarks import About
from scoring.models import Fact, Result, Score, Setup, State, StreamedClass
from scoring.selectors.past import classes_before, done_in, group_speed
from scoring.selectors.planning import planned
from scoring.services.classes import create_class, open_class
from scoring.services.correcting import withdraw_result

from ..conftest import FOR_TIME, NOW, TWO_LADDERS
from .classes import log

PULLS = """Bar night
cap 20:00

{rounds} rounds
10 pull-up
  or inverted row, credit 0.6
"""


def pulls(rounds):
    return PULLS.format(rounds=rounds)


def held(people, text, days_ago):
    """An open class of some days ago."""
    streamed = create_class(
        gym=people.gym, coach=people.coach, starts_at=NOW - timedelta(days=days_ago), text=text
    )
    return open_class(streamed_class=streamed, by=people.coach, now=NOW)


def plan(viewer, text, at=NOW, **kwargs):
    workout = notation.parse(text).workout
    return planned(viewer=viewer, workout=workout, starts_at=at, **kwargs)


def about(seen, what):
    return [r for r in seen.remarks if r.about is what]


# --- volume ---------------------------------------------------------------------


def test_a_plan_is_compared_with_what_each_member_did_of_the_movement_itself(people):
    first, second = held(people, pulls(4), 9), held(people, pulls(6), 3)
    log(first, people.ana, "20 reps")
    log(second, people.ana, "40 reps")
    log(first, people.ben, "15:00")  # all forty
    # Cleo did rows: no pull-ups, so she is not among those who did them.
    log(first, people.cleo, "30 reps", "inverted row")
    # A draft of the same is no class that was held.
    create_class(gym=people.gym, coach=people.coach, starts_at=NOW, text=pulls(9))
    seen = plan(people.coach, pulls(15))
    (volume,) = seen.volumes
    # Ana averages 30, Ben 40: 35; 150 is 4.3 times that.
    assert (volume.movement, volume.planned, volume.members) == ("pull-up", 150, 2)
    assert volume.average == 35
    assert [(name, float(ratio)) for name, ratio in volume.beyond] == [
        ("Ana Sol", 5.0),
        ("Ben Okoro", 3.75),
    ]
    (remark,) = about(seen, About.VOLUME)
    assert "Ana Sol (5 times), Ben Okoro (3.8 times)" in remark.why
    assert "doctor" in remark.words


def test_reps_done_half_by_an_option_count_half(people):
    streamed = held(people, pulls(4), 2)
    log(streamed, people.ana, "15:00", "inverted row: 12")
    (volume,) = plan(people.coach, pulls(4)).volumes
    assert volume.average == 28


def test_without_results_there_is_no_remark_on_volume(people):
    held(people, pulls(4), 2)
    seen = plan(people.coach, pulls(15))
    assert seen.volumes == () and about(seen, About.VOLUME) == [] and seen.speed is None


def test_what_was_withdrawn_and_who_left_is_not_counted(people):
    streamed = held(people, pulls(4), 2)
    log(streamed, people.ana, "15:00")
    gone = log(streamed, people.ben, "20 reps").result
    log(streamed, people.cleo, "10 reps")
    assert plan(people.coach, pulls(4)).volumes[0].members == 3
    withdraw_result(result=gone, by=people.coach, reason="not his", now=NOW)
    Membership.objects.filter(pk=people.cleo.pk).update(left_at=NOW)
    assert plan(people.coach, pulls(4)).volumes[0].members == 1


def test_another_gyms_results_are_no_part_of_it(people):
    log(held(people, pulls(4), 2), people.ana, "15:00")
    assert plan(people.foreign_coach, pulls(15)).volumes == ()
    assert plan(people.foreign_coach, pulls(15)).looked_at == 0


@pytest.mark.parametrize("who", ["ana", "foreigner"])
def test_only_coaches_are_told(people, who):
    assert plan(getattr(people, who), pulls(4)) is None
    assert planned(viewer=None, workout=notation.parse(FOR_TIME).workout, starts_at=NOW) is None


# --- pattern ----------------------------------------------------------------------

SQUATS = "Squats {n}\ncap 10:00\n\n5 rounds\n{n} air squat\n5 sit-up\n"
SWINGS = "Swings\ncap 10:00\n\n5 rounds\n30 kettlebell swing @ 16 kg\n5 sit-up\n"


def test_the_same_pattern_for_the_third_class_running_is_remarked_with_its_shares(people):
    held(people, SQUATS.format(n=20), 4)
    held(people, SQUATS.format(n=25), 2)
    (remark,) = about(plan(people.coach, SQUATS.format(n=30)), About.PATTERN)
    assert "squat for the third class running" in remark.what
    assert "Squats 25, 22 Nov" in remark.why and "Squats 20, 20 Nov" in remark.why
    assert about(plan(people.coach, SWINGS), About.PATTERN) == []


def test_the_same_class_twice_on_a_day_is_one_class_and_a_break_ends_the_run(people):
    for _ in range(3):
        held(people, SQUATS.format(n=20), 2)
    assert about(plan(people.coach, SQUATS.format(n=30)), About.PATTERN) == []
    held(people, SWINGS, 3)
    held(people, SQUATS.format(n=20), 4)
    assert about(plan(people.coach, SQUATS.format(n=30)), About.PATTERN) == []


def test_classes_of_long_ago_are_not_running(people):
    held(people, SQUATS.format(n=20), 15)
    held(people, SQUATS.format(n=25), 2)
    assert about(plan(people.coach, SQUATS.format(n=30)), About.PATTERN) == []


# --- speed, options, gear -------------------------------------------------------------


def test_the_groups_speed_is_the_middle_of_its_results(people):
    # Own movements weigh 3 s a rep: 60 reps in 6 min are half of the usual speed.
    text = "Own\ncap 10:00\n\n3 rounds\n20 sofa shuffle\n"
    streamed = held(people, text, 2)
    for member, mark in ((people.ana, "6:00"), (people.ben, "3:00"), (people.cleo, "20 reps")):
        log(streamed, member, mark)
    seen = plan(people.coach, text.replace("3 rounds", "9 rounds"))
    # Ana 0.5, Ben 1, Cleo a tenth: the middle is 0.5.
    assert (float(seen.speed.value), seen.speed.results) == (0.5, 3)
    # How far it gets is the forecast's to say; all of the work stays as written.
    half = seen.forecast.expected.halfway
    assert seen.asked.reached == (half,) and seen.asked.counts == (180,)


def test_options_used_here_are_suggested_with_how_often_and_their_credit(people):
    streamed = held(people, FOR_TIME, 3)
    log(streamed, people.ana, "12:00", "tuck rock; knee push-up")
    log(streamed, people.ben, "13:00", "tuck rock")
    bare = FOR_TIME.replace("  or tuck rock, credit 0.75\n", "")
    found = {s.line.line.movement: s for s in plan(people.coach, bare).suggestions}
    first = found["hollow rock"].suggestions[0]
    assert first.text == "or tuck rock, credit 0.75"
    assert first.why == "used here 2 times, by 2 members"
    assert "knee push-up" not in str(found["hand-release push-up"].suggestions)


def test_gear_is_told_with_what_needs_it_and_who_has_it(people):
    Setup.objects.create(member=people.ana, has_told_gear=True, pieces=["kettlebell"])
    Setup.objects.create(member=people.ben, has_told_gear=True, pieces=["mat"])
    seen = plan(people.coach, FOR_TIME)
    assert [(n.gear, n.movements, n.only_options) for n in seen.gear] == [
        ("dumbbell or kettlebell", ("goblet squat", "single-arm row"), False)
    ]
    assert (seen.equipped, seen.told_gear) == (1, 2)


# --- what is kept in memory, and how much is asked of the database ---------------------


def test_a_new_result_is_seen_at_once(people):
    streamed = held(people, pulls(4), 2)
    log(streamed, people.ana, "20 reps")
    assert plan(people.coach, pulls(4)).volumes[0].members == 1
    log(streamed, people.ben, "30 reps")
    assert plan(people.coach, pulls(4)).volumes[0].members == 2


def test_every_kind_of_class_can_be_looked_back_at(people):
    bells = "Bells\n\nevery 1:00 for 3 rounds\n8 burpee\nmax sit-up\n"
    log(held(people, bells, 4), people.ana, "10 / 12 / 8")
    log(held(people, "Heavy\n\nmax load, 3 reps\nback squat\n", 3), people.ana, "80 kg")
    log(held(people, TWO_LADDERS, 2), people.ana, "2+9", "tuck rock: 5")
    classes = classes_before(viewer=people.coach, before=NOW)
    done = done_in(classes)
    ladders, heavy, bells = (done[c.pk] for c in classes)
    assert bells.reps["burpee"][people.ana.pk] == 24 and bells.reps["sit-up"][people.ana.pk] == 6
    assert heavy.reps["back squat"][people.ana.pk] == 3
    assert ladders.reps["hollow rock"][people.ana.pk] == 31
    assert ladders.reps["tuck rock"][people.ana.pk] == 5
    # Neither a lift nor intervals tell a speed.
    assert group_speed(done).results == 1


def crowd(people, size):
    """Many members with a result in one class, made without the services, for they are slow."""
    users = User.objects.bulk_create(User(email=f"m{n}@example.org") for n in range(size))
    members = Membership.objects.bulk_create(
        Membership(gym=people.gym, user=user, display_name=f"Member {n:03}")
        for n, user in enumerate(users)
    )
    streamed = held(people, pulls(4), 2)
    model = log(streamed, people.ana, "20 reps").result
    score = Score.objects.get(result=model)
    results = Result.objects.bulk_create(
        Result(streamed_class=streamed, member=member) for member in members
    )
    facts = Fact.objects.bulk_create(
        Fact(result=result, number=1, mark="30 reps", entered_by=result.member)
        for result in results
    )
    for result, fact in zip(results, facts, strict=True):
        result.current = fact
    Result.objects.bulk_update(results, ["current"])
    same = {f.attname: getattr(score, f.attname) for f in Score._meta.fields if f.name != "id"}
    Score.objects.bulk_create(
        Score(**{**same, "result_id": r.pk, "fact_id": f.pk, "raw_reps": 30})
        for r, f in zip(results, facts, strict=True)
    )
    return streamed


def test_four_hundred_members_take_no_more_queries_than_three(
    people, django_assert_max_num_queries
):
    crowd(people, 400)
    with django_assert_max_num_queries(15):
        seen = plan(people.coach, pulls(15))
    (volume,) = seen.volumes
    assert volume.members == 401 and len(volume.beyond) == 401
    (remark,) = about(seen, About.VOLUME)
    assert "and 396 more" in remark.why and len(remark.why) < 500
    assert StreamedClass.objects.filter(state=State.OPEN).count() == 1
