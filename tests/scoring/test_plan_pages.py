"""Pages of the week's plan: what they say, what they change, and how they refuse."""

import html
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from members.models import AuditEntry
from scoring.models import State, StreamedClass
from scoring.services.classes import create_class, open_class
from scoring.services.templates import save_template

from ..conftest import FOR_TIME, TWO_LADDERS
from .classes import log, make_class

BERLIN = ZoneInfo("Europe/Berlin")
SQUATS = "Squats {}\ncap 10:00\n\n5 rounds\n20 goblet squat @ 20 kg\n"


@pytest.fixture
def coach(client, people):
    people.gym.timezone = "Europe/Berlin"
    people.gym.save()
    client.force_login(people.coach.user)
    return client


def draft(people, day, clock="18:00", text=TWO_LADDERS, **kwargs):
    starts_at = datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=BERLIN)
    return create_class(
        gym=people.gym, coach=people.coach, starts_at=starts_at, text=text, **kwargs
    )


def read(answer):
    return " ".join(html.unescape(answer.content.decode()).split())


def week(client, of="2026-W48"):
    return read(client.get(reverse("plan-week"), {"week": of}))


def test_a_week_tells_its_days_their_classes_and_what_can_be_done_with_each(coach, people):
    row = draft(people, "2026-11-24")
    shown = open_class(
        streamed_class=draft(people, "2026-11-26", "07:15", FOR_TIME), by=people.coach,
        now=timezone.now(),
    )  # fmt: skip
    log(shown, people.ana, "12:00")
    told = week(coach)
    assert "23 to 29 November 2026" in told and "Europe/Berlin" in told
    assert told.index("Tuesday 24 November") < told.index("18:00 <a") < told.index("07:15 <a")
    for name in ("class-move", "class-delete", "class-edit"):
        assert reverse(name, args=[row.pk]) in told
        assert reverse(name, args=[shown.pk]) not in told
    assert "cap 18:00, with Carl Coach" in told and "1 logged" in told
    assert told.count("Nothing planned.") == 5


def test_a_plan_is_in_the_gyms_time_wherever_the_coach_travels(coach, people):
    people.coach.timezone = "Asia/Tokyo"
    people.coach.save()
    draft(people, "2026-11-24")
    assert "18:00 <a" in week(coach) and "02:00 <a" not in week(coach)


def test_three_heavy_squat_days_running_are_seen(coach, people):
    for n, day in enumerate(["2026-11-23", "2026-11-24", "2026-11-25"]):
        draft(people, day, text=SQUATS.format(n))
    told = week(coach)
    assert (
        "Squat on Monday, Tuesday and Wednesday: three days running, with a load on each of them."
    ) in told
    assert "common practice, not a measured limit" in told
    assert "days running" not in week(coach, "2026-W49")


def test_a_week_that_is_none_is_said_and_this_one_is_shown(coach, people):
    answer = coach.get(reverse("plan-week"), {"week": "2026-W54"})
    assert answer.status_code == 422
    assert "The year 2026 has no week 54." in read(answer) and "this week" in read(answer)
    assert coach.get(reverse("plan-week")).status_code == 200


def test_a_past_workout_is_planned_at_once(coach, people):
    before = make_class(people, FOR_TIME, tie_break_block=1)
    page = read(coach.get(reverse("plan-add"), {"day": "2027-03-28"}))
    assert f'value="workout-{before.workout_id}"' in page and "last on 24 November 2026" in page
    sent = {"day": "2027-03-28", "clock": "18:00", "what": f"workout-{before.workout_id}"}
    answer = coach.post(reverse("plan-add"), sent)
    assert answer.url == reverse("plan-week") + "?week=2027-W12"
    made = StreamedClass.objects.latest("pk")
    # Clocks are put forward that night: 18:00 is summer time already.
    assert made.starts_at == datetime(2027, 3, 28, 18, tzinfo=BERLIN)
    assert made.workout == before.workout and made.tie_break_block == 1
    again = coach.post(reverse("plan-add"), sent)
    assert again.status_code == 422 and StreamedClass.objects.count() == 2


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"day": "2026-02-30"}, "That is no day. Write it like 2026-12-01."),
        ({"clock": "6pm"}, "That is no time. Write it like 18:30."),
        ({"day": "2027-03-28", "clock": "02:30"}, "Clocks jump over that time on that day."),
        ({"what": "workout-99999"}, "There is no such workout."),
        ({"what": "workout-x"}, "There is no such workout."),
    ],
)
def test_what_cant_be_read_is_said_beside_its_field_and_stays(coach, people, wrong, said):
    sent = {"day": "2026-12-01", "clock": "18:00", "what": ""} | wrong
    answer = coach.post(reverse("plan-add"), sent)
    assert answer.status_code == 422 and said in read(answer)
    assert f'value="{sent["day"]}"' in read(answer) and not StreamedClass.objects.exists()


def test_a_template_opens_for_writing_on_that_day_in_the_coachs_own_time(coach, people):
    people.coach.timezone = "Asia/Tokyo"
    people.coach.save()
    frame = save_template(by=people.coach, name="Frame", text="Frame\ncap __\n", now=timezone.now())
    sent = {"day": "2026-12-01", "clock": "18:00", "what": f"template-{frame.pk}"}
    answer = coach.post(reverse("plan-add"), sent, follow=True)
    assert "Frame\ncap __" in html.unescape(answer.content.decode())
    assert 'value="2026-12-02T02:00"' in read(answer)
    blank = coach.post(reverse("plan-add"), sent | {"what": ""}, follow=True)
    assert 'value="2026-12-02T02:00"' in read(blank) and "cap __" not in read(blank)


def test_what_a_writing_page_is_begun_with_may_be_anything(coach):
    for query in ("pattern=x&at=never", "pattern=9999", "at=0001-01-01T00:00", "at=9999-12-31"):
        assert coach.get(reverse("class-new") + "?" + query).status_code == 200


def test_a_draft_is_moved_by_a_plain_form(coach, people):
    row = draft(people, "2026-11-24")
    address = reverse("class-move", args=[row.pk])
    assert 'value="2026-11-24"' in read(coach.get(address))
    refused = coach.post(address, {"day": "2026-12-02", "clock": "noon"})
    assert refused.status_code == 422 and 'value="noon"' in read(refused)
    answer = coach.post(address, {"day": "2026-12-02", "clock": "07:00"}, follow=True)
    assert "now on Wednesday 2 December, 07:00." in read(answer)
    assert answer.request["QUERY_STRING"] == "week=2026-W49"
    row.refresh_from_db()
    assert row.starts_at == datetime(2026, 12, 2, 7, tzinfo=BERLIN)


def test_deleting_asks_first(coach, people):
    row = draft(people, "2026-11-24", note="Words")
    address = reverse("class-delete", args=[row.pk])
    page = read(coach.get(address))
    assert "with its word to the members" in page and "Its workout stays" in page
    assert StreamedClass.objects.filter(pk=row.pk).exists()
    answer = coach.post(address, follow=True)
    assert "is deleted" in read(answer) and not StreamedClass.objects.exists()
    assert coach.post(address).status_code == 404


@pytest.mark.parametrize("name", ["class-move", "class-delete"])
def test_what_members_see_stays_and_the_page_says_why(coach, people, name):
    row = make_class(people)
    address = reverse(name, args=[row.pk])
    assert "Members see this class already" in read(coach.get(address))
    answer = coach.post(address, {"day": "2026-12-02", "clock": "07:00"})
    assert answer.status_code == 422 and "Members see this class already" in read(answer)
    row.refresh_from_db()
    assert row.state == State.OPEN


@pytest.fixture
def october(people):
    people.gym.timezone = "Europe/Berlin"
    people.gym.save()
    return draft(people, "2026-10-12", note="Words"), draft(people, "2026-10-14", text=FOR_TIME)


def test_a_week_is_copied_after_a_look_and_twice_makes_nothing_twice(coach, people, october):
    address, weeks = reverse("plan-copy"), {"week": "2026-W42", "to": "2026-W44"}
    page = read(coach.get(address, weeks))
    assert "Monday 26 October, 18:00" in page and "Wednesday 28 October, 18:00" in page
    assert StreamedClass.objects.count() == 2
    ticked = weeks | {"class": [row.pk for row in october]}
    answer = coach.post(address, ticked, follow=True)
    assert "2 drafts made." in read(answer)
    page = read(coach.get(address, weeks))
    assert page.count("there already, so it is not made again") == 2
    assert "All of it is there already." in page and 'type="checkbox"' not in page
    again = coach.post(address, ticked, follow=True)
    assert "No draft made, 2 stood there already." in read(again)
    assert StreamedClass.objects.count() == 4
    assert AuditEntry.objects.filter(what="copy-week").count() == 1


def test_what_passed_already_is_told_and_not_ticked(coach, people, october):
    page = read(coach.get(reverse("plan-copy"), {"week": "2026-W42", "to": "2020-W53"}))
    assert page.count("That time has passed") == 2 and "checked" not in page


@pytest.mark.parametrize(
    ("weeks", "said"),
    [
        ({"week": "2026-W42", "to": "2026-W42"}, "can't be copied into itself"),
        ({"week": "2026-W42", "to": "soon"}, "A week is written like 2026-W48."),
        ({"week": "2025-W53"}, "The year 2025 has no week 53."),
    ],
)
def test_a_copy_that_cant_be_done_says_why(coach, people, october, weeks, said):
    answer = coach.post(reverse("plan-copy"), weeks | {"class": [october[0].pk]})
    assert answer.status_code == 422 and said in read(answer)
    assert StreamedClass.objects.count() == 2


def test_past_workouts_tell_how_they_went_and_lead_on(coach, people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    page = read(coach.get(reverse("workout-search"), {"movement": "push ups", "day": "2026-12-01"}))
    assert "0 workouts" in page and "Nothing has all of that." in page
    page = read(coach.get(reverse("workout-search"), {"movement": "goblet squats"}))
    assert "1 workout<" in page and "ran once, last on" in page and "24 November 2026" in page
    assert "1 logged, 1 as prescribed; in the middle: 2 rounds + 9" in page
    assert f"{reverse('class-new')}?from={streamed.workout_id}" in page
    assert reverse("workout-repeat", args=[streamed.workout_id]) in page


def test_a_misspelt_movement_gets_a_suggestion(coach, people):
    make_class(people)
    page = read(coach.get(reverse("workout-search"), {"movement": "goblet sqat"}))
    assert 'Did you mean <a href="?movement=goblet+squat">goblet squat</a>?' in page


def test_a_search_that_cant_be_read_says_where_and_keeps_what_was_typed(coach, people):
    asked = {"shortest": "x", "ran_from": "2026-02-30", "pattern": "zz", "words": "tide"}
    answer = coach.get(reverse("workout-search"), asked)
    told = read(answer)
    assert answer.status_code == 422 and 'value="tide"' in told and 'value="x"' in told
    for said in ("That is no number of minutes.", "That is no day.", "There is no such pattern."):
        assert said in told
    assert "<details open>" in told


def test_pages_of_a_search_keep_what_was_asked(coach, people):
    for n in range(21):
        draft(people, "2026-11-24", text=SQUATS.format(n))
    page = read(coach.get(reverse("workout-search"), {"words": "squats"}))
    assert "21 workouts" in page and 'href="?words=squats&page=2"' in page
    second = read(coach.get(reverse("workout-search"), {"words": "squats", "page": "2"}))
    assert second.count("Repeat to compare") == 1


def test_repeat_to_compare_makes_the_same_text_on_the_chosen_day(coach, people):
    before = make_class(people)
    address = reverse("workout-repeat", args=[before.workout_id])
    assert "The same text" in read(coach.get(address, {"day": "2027-01-05"}))
    coach.post(address, {"day": "2027-01-05", "clock": "18:30"})
    again = StreamedClass.objects.latest("pk")
    assert again.workout.fingerprint == before.workout.fingerprint
    assert again.starts_at == datetime(2027, 1, 5, 18, 30, tzinfo=BERLIN)
    assert coach.post(address, {"day": "2027-01-05", "clock": "18:30"}).status_code == 422


def test_a_plan_of_many_classes_takes_few_queries(coach, people, django_assert_max_num_queries):
    for hour in range(6, 20):
        row = draft(people, "2026-11-24", f"{hour:02}:00", SQUATS.format(hour))
        open_class(streamed_class=row, by=people.coach, now=timezone.now())
    with django_assert_max_num_queries(8):
        assert "19:00 <a" in week(coach)
    later = timezone.now() + timedelta(days=400)
    with django_assert_max_num_queries(13):
        assert (
            coach.get(reverse("workout-search"), {"ran_to": f"{later:%Y-%m-%d}"}).status_code == 200
        )
