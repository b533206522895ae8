"""A week's plan is changed: moved, deleted, repeated, copied, and each of it on record."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from members.models import AuditEntry, Role
from scoring.core.iso_week import IsoWeek
from scoring.core.movements import Pattern
from scoring.models import State, StreamedClass
from scoring.problems import Refused
from scoring.selectors.plan import copy_preview, week_plan
from scoring.services.classes import change_draft, create_class
from scoring.services.planning import copy_week, delete_draft, move_draft, repeat_workout

from ..conftest import FOR_TIME, NOW, TWO_LADDERS
from .classes import log, make_class

BERLIN = ZoneInfo("Europe/Berlin")
W42, W44, W48 = (IsoWeek.read(f"2026-W{n}") for n in (42, 44, 48))
SQUATS = "Squats {}\ncap 10:00\n\n5 rounds\n20 goblet squat @ 20 kg\n"


@pytest.fixture
def gym(people):
    people.gym.timezone = "Europe/Berlin"
    people.gym.save()
    return people.gym


def at(day, clock):
    return datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=BERLIN)


def draft(people, when=NOW, text=TWO_LADDERS, **kwargs):
    return create_class(gym=people.gym, coach=people.coach, starts_at=when, text=text, **kwargs)


def told():
    """Deeds but for the making and opening of each single class."""
    deeds = AuditEntry.objects.exclude(what__in=("make-class", "open-class")).order_by("pk")
    return list(deeds.values_list("what", "subject"))


# --- a draft's day and its end -----------------------------------------------


def test_a_draft_is_moved_with_the_time_it_closes_by_itself(people):
    row = draft(people)
    row.closes_at = NOW + timedelta(hours=2)
    row.save()
    later = NOW + timedelta(days=1)
    moved = move_draft(streamed_class=row, by=people.owner, starts_at=later, now=NOW)
    assert (moved.starts_at, moved.closes_at) == (later, later + timedelta(hours=2))
    assert moved.board_version == row.board_version + 1
    assert told() == [("move-class", "Two ladders and a tide")]
    move_draft(streamed_class=row, by=people.owner, starts_at=later, now=NOW)
    assert len(told()) == 1  # the same time again is no change


def test_what_members_see_is_neither_moved_nor_deleted(people):
    row = make_class(people)
    for change in (
        lambda: move_draft(streamed_class=row, by=people.coach, starts_at=NOW, now=NOW),
        lambda: delete_draft(streamed_class=row, by=people.coach, now=NOW),
    ):
        with pytest.raises(Refused) as refused:
            change()
        assert refused.value.kind == "conflict"
    assert StreamedClass.objects.filter(pk=row.pk).exists() and told() == []


@pytest.mark.parametrize("who", ["ana", "foreign_coach"])
def test_only_coaches_of_the_gym_change_a_plan(people, who):
    row, by = draft(people), getattr(people, who)
    for change in (
        lambda: move_draft(streamed_class=row, by=by, starts_at=NOW, now=NOW),
        lambda: delete_draft(streamed_class=row, by=by, now=NOW),
        lambda: repeat_workout(workout=row.workout, by=by, starts_at=NOW, now=NOW),
    ):
        with pytest.raises(Refused) as refused:
            change()
        assert refused.value.kind == "forbidden"
    with pytest.raises(Refused):
        copy_week(by=people.ana, source=W48, target=W44, now=NOW)


def test_a_deleted_draft_is_gone_its_workout_stays_and_the_deed_is_on_record(people):
    row = draft(people)
    delete_draft(streamed_class=row, by=people.coach, now=NOW)
    assert not StreamedClass.objects.exists() and people.gym.workouts.count() == 1
    assert told() == [("delete-class", "Two ladders and a tide")]
    with pytest.raises(Refused, match="deleted meanwhile"):
        delete_draft(streamed_class=row, by=people.coach, now=NOW)


def test_a_draft_that_has_results_all_the_same_is_not_deleted(people):
    row = make_class(people)
    log(row, people.ana, "2+9")
    StreamedClass.objects.filter(pk=row.pk).update(state=State.DRAFT)
    with pytest.raises(Refused, match="has results"):
        delete_draft(streamed_class=row, by=people.coach, now=NOW)
    assert told() == [] and StreamedClass.objects.filter(pk=row.pk).exists()


# --- a workout again ---------------------------------------------------------


def test_a_repeat_has_the_same_text_and_counts_alike(people):
    first = make_class(people, FOR_TIME, weighted=True, above_one=True, tie_break_block=1)
    later = NOW + timedelta(days=60)
    again = repeat_workout(workout=first.workout, by=people.owner, starts_at=later, now=NOW)
    assert again.state == State.DRAFT and again.coach == people.owner
    assert again.workout.fingerprint == first.workout.fingerprint
    assert (again.weighted, again.above_one, again.tie_break_block) == (True, True, 1)
    assert told() == [("repeat-workout", "Two ladders")]
    with pytest.raises(Refused, match="planned at that time already"):
        repeat_workout(workout=first.workout, by=people.coach, starts_at=later, now=NOW)
    assert StreamedClass.objects.count() == 2


# --- a week copied -----------------------------------------------------------


@pytest.fixture
def october(people, gym):
    """Two classes in the week before clocks are put back, one of them with words."""
    monday = draft(people, at("2026-10-12", "18:00"), note="Bring water.", weighted=True)
    return monday, draft(people, at("2026-10-14", "07:15"), FOR_TIME)


def test_a_week_keeps_its_clocks_over_the_change_of_clocks(people, october):
    done = copy_week(by=people.coach, source=W42, target=W44, now=NOW)
    assert [row.starts_at.astimezone(UTC) for row in done.made] == [
        datetime(2026, 10, 26, 17, tzinfo=UTC),  # 18:00 in winter time
        datetime(2026, 10, 28, 6, 15, tzinfo=UTC),
    ]
    first = done.made[0]
    assert first.state == State.DRAFT and first.weighted and first.note == ""
    assert first.workout == october[0].workout
    assert told() == [("copy-week", "2026-W42 to 2026-W44")]


def test_copied_twice_it_is_there_once(people, october):
    copy_week(by=people.coach, source=W42, target=W44, now=NOW)
    again = copy_week(by=people.owner, source=W42, target=W44, now=NOW)
    assert (again.made, again.there) == ([], 2)
    assert StreamedClass.objects.count() == 4 and len(told()) == 1


def test_what_was_moved_there_is_not_made_again_unless_it_is_ticked(people, october):
    moved = copy_week(by=people.coach, source=W42, target=W44, now=NOW).made[0]
    move_draft(streamed_class=moved, by=people.coach, starts_at=at("2026-10-26", "19:00"), now=NOW)
    assert copy_week(by=people.coach, source=W42, target=W44, now=NOW).made == []
    ticked = copy_week(
        by=people.coach, source=W42, target=W44, chosen=[october[0].pk], with_notes=True, now=NOW
    )
    assert [row.note for row in ticked.made] == ["Bring water."]


def test_the_preview_says_what_the_copy_does(people, october):
    rows = copy_preview(viewer=people.coach, source=W42, target=W44)
    made = copy_week(by=people.coach, source=W42, target=W44, now=NOW).made
    assert [(s.workout_id, c.starts_at) for s, c in rows] == [
        (m.workout_id, m.starts_at) for m in made
    ]


def test_only_the_ticked_are_made_and_nothing_of_another_week(people, october):
    chosen = [october[1].pk]
    done = copy_week(by=people.coach, source=W42, target=W44, chosen=chosen, now=NOW)
    assert [row.workout for row in done.made] == [october[1].workout]
    other = draft(people, at("2026-11-24", "18:00"))
    with pytest.raises(Refused, match="no longer in that week"):
        copy_week(by=people.coach, source=W42, target=W44, chosen=[other.pk], now=NOW)
    with pytest.raises(Refused, match="into itself"):
        copy_week(by=people.coach, source=W42, target=W42, now=NOW)


def test_a_class_stays_with_its_coach_as_long_as_they_coach(people, october):
    done = copy_week(by=people.owner, source=W42, target=W44, now=NOW)
    assert {row.coach for row in done.made} == {people.coach}
    people.coach.role = Role.MEMBER
    people.coach.save()
    done = copy_week(by=people.owner, source=W42, target=W48, now=NOW)
    assert {row.coach for row in done.made} == {people.owner}


def test_a_week_of_another_gym_is_nobodys(people, october):
    assert copy_preview(viewer=people.foreign_coach, source=W42, target=W44) == []
    assert copy_week(by=people.foreign_coach, source=W42, target=W44, now=NOW).made == []


# --- the plan ----------------------------------------------------------------


def test_days_are_the_gyms_and_begin_at_its_midnight(people, gym):
    late, early = draft(people, at("2026-11-29", "23:59")), draft(people, at("2026-11-30", "00:00"))
    plan = week_plan(viewer=people.coach, week=W48)
    assert [day.date for day in plan.days] == [date(2026, 11, 23 + n) for n in range(7)]
    assert [c.streamed for c in plan.days[6].classes] == [late]
    after = week_plan(viewer=people.coach, week=W48.plus(1))
    assert [c.streamed for c in after.days[0].classes] == [early]


def test_three_heavy_squat_days_running_are_pointed_out_over_the_weeks_edge(people, gym):
    for n, day in enumerate(["2026-11-22", "2026-11-23", "2026-11-24"]):
        draft(people, at(day, "18:00"), SQUATS.format(n))
    plan = week_plan(viewer=people.coach, week=W48)
    (run,) = plan.runs
    assert run.pattern is Pattern.SQUAT and run.has_load and run.days[0] == date(2026, 11, 22)
    assert plan.patterns == [Pattern.SQUAT]
    assert not week_plan(viewer=people.coach, week=W48.plus(1)).runs


def test_a_plan_changes_with_a_draft_and_takes_few_queries(
    people, gym, django_assert_max_num_queries
):
    rows = [draft(people, at("2026-11-24", f"{h:02}:00"), SQUATS.format(h)) for h in range(6, 20)]
    with django_assert_max_num_queries(3):
        plan = week_plan(viewer=people.coach, week=W48)
        assert len(plan.days[1].classes) == len(rows)
    change_draft(streamed_class=rows[0], by=people.coach, text=FOR_TIME)
    assert Pattern.PULL in week_plan(viewer=people.coach, week=W48).days[1].work
