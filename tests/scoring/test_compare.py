"""Classes beside each other: who counts where, how sure it is, what it costs."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from members.models import Membership
from scoring.models import Fact, Result, Score, StreamedClass
from scoring.problems import Refused
from scoring.selectors.classes import usual_members
from scoring.selectors.compare import compare
from scoring.selectors.compare_asked import read_asked
from scoring.selectors.compare_read import read_held

from ..conftest import FOR_TIME, NOW, TWO_LADDERS, add_member
from .classes import log, make_class
from .held import held

TODAY = NOW.date()
LIFT = """Heavy three

max load, 3 reps
back squat
"""


def compared(people, by="class", *, viewer=None, **days):
    asked = read_asked(by=by, first=days.get("first", ""), last=days.get("last", ""), today=TODAY)
    return compare(viewer=viewer or people.coach, asked=asked, now=NOW)


def by_name(found):
    return {group.key.name: group for group in found.groups}


def crowd(people, count):
    return [add_member(people.gym, f"Member {n:03}") for n in range(count)]


def test_members_are_told_nothing_and_other_gyms_see_only_their_own(people):
    held(people, 1, {people.ana: "10:00"})
    assert compared(people, viewer=people.ana) is None
    assert compared(people, viewer=people.foreign_coach).whole is None


def test_without_dates_it_is_twelve_weeks_and_both_ends_belong_to_it(people):
    asked = read_asked(by="", first="", last="", today=TODAY)
    assert (asked.by, asked.first, asked.last) == ("class", date(2026, 9, 2), TODAY)
    first, before = held(people, 83), held(people, 84)
    found = {group.classes[0].pk for group in compared(people).groups}
    assert first.pk in found and before.pk not in found


@pytest.mark.parametrize(
    ("first", "last", "by", "column"),
    [
        ("2026-11-40", "", "", "from"),
        ("", "tomorrow", "", "to"),
        ("2026-11-20", "2026-11-10", "", "from"),
        ("2025-11-01", "2026-11-20", "", "from"),
        ("", "", "shoe size", "by"),
        ("0001-01-01", "", "", "from"),
    ],
)
def test_what_cannot_be_asked_is_refused_by_its_field(first, last, by, column):
    with pytest.raises(Refused) as refused:
        read_asked(by=by, first=first, last=last, today=TODAY)
    assert refused.value.items[0].column == column


def test_groups_of_each_kind_by_the_gyms_clock(people):
    """Lisbon is at UTC in November. 2026-11-24 is a Tuesday of ISO week 48."""
    held(people, 1, hour=6)
    held(people, 2, hour=9, coach=people.owner)
    held(people, 7, hour=12)
    held(people, 8, hour=16)
    held(people, 0)
    assert [g.key.name for g in compared(people, "weekday").groups] == [
        "monday", "tuesday", "sunday",
    ]  # fmt: skip
    assert [g.key.name for g in compared(people, "hour").groups] == [
        "early", "morning", "midday", "afternoon", "evening",
    ]  # fmt: skip
    assert [(g.key.name, len(g.classes)) for g in compared(people, "week").groups] == [
        ("2026-W48", 2), ("2026-W47", 3),
    ]  # fmt: skip
    assert [(g.key.label, len(g.classes)) for g in compared(people, "coach").groups] == [
        ("Carl Coach", 4), ("Olga Owner", 1),
    ]  # fmt: skip


def test_a_week_at_the_turn_of_the_year_is_named_by_iso(people):
    """ISO 8601: 2026-12-31 and 2027-01-01 are both in 2026-W53."""
    streamed = held(people, 0)
    for day in (date(2026, 12, 31), date(2027, 1, 1)):
        later = NOW.replace(year=day.year, month=day.month, day=day.day)
        StreamedClass.objects.filter(pk=streamed.pk).update(starts_at=later)
        asked = read_asked(by="week", first="", last="", today=day)
        [group] = compare(viewer=people.coach, asked=asked, now=later).groups
        assert group.key.name == "2026-W53"


def test_midnight_is_the_gyms_midnight(people):
    people.gym.timezone = "Asia/Tokyo"
    people.gym.save()
    held(people, 0)  # 18:30 in UTC is the next morning there, at 3:30
    people.coach.refresh_from_db()
    [group] = compared(people, "weekday", last="2026-11-25").groups
    assert group.key.name == "wednesday"
    assert compared(people, "weekday", last="2026-11-24").whole is None


def test_expected_are_those_whom_a_classs_own_page_calls_usual(people):
    """Three of the six classes before, also those before the period; not who had left."""
    for days in (40, 38, 36, 34, 32, 30):
        marks = {people.ana: "10:00"}
        if days in (40, 36, 30):
            marks[people.ben] = "11:00"
        if days in (32, 30):
            marks[people.cleo] = "12:00"
        held(people, days, marks)
    newest = held(people, 1, {people.ana: "10:00"})
    [found] = compared(people, first=str(TODAY - timedelta(days=5))).groups
    assert usual_members(newest) == {people.ana.pk, people.ben.pk}
    assert (found.expected, found.measures.logged.hits) == (2, 1)
    Membership.objects.filter(pk=people.ben.pk).update(left_at=NOW - timedelta(days=2))
    [found] = compared(people, first=str(TODAY - timedelta(days=5))).groups
    assert (found.expected, found.measures.logged.hits) == (1, 1)


def test_usual_is_the_same_here_and_on_every_classs_page(people):
    for days in range(20, 0, -1):
        there = [m for n, m in enumerate(people.members) if days % (n + 2)]
        held(people, days, dict.fromkeys(there, "10:00"))
    asked = read_asked(by="", first="", last="", today=TODAY)
    for each in read_held(viewer=people.coach, asked=asked, now=NOW):
        assert each.usual == usual_members(each.streamed)


def test_drafts_and_classes_to_come_are_not_held(people):
    make_class(people, is_open=False)
    make_class(people, starts_at=NOW + timedelta(hours=1))
    assert compared(people).whole is None


def test_a_withdrawn_result_is_no_result(people):
    streamed = held(people, 1, {people.ana: "10:00", people.ben: "11:00"})
    Score.objects.filter(result__member=people.ben).delete()
    [group] = compared(people).groups
    assert (group.results, group.classes[0].pk) == (1, streamed.pk)


def test_a_class_that_is_still_open_does_not_make_its_group_look_empty(people):
    for days in range(12, 1, -1):
        held(people, days, {people.ana: "10:00", people.ben: "11:00"})
    fresh = held(people, 0, closed=False)
    [tuesday] = [g for g in compared(people, "weekday").groups if g.key.name == "tuesday"]
    # Of two Tuesdays, the one a week ago counts and this one not yet.
    assert (tuesday.fresh, len(tuesday.classes)) == (1, 2)
    assert (tuesday.measures.logged.hits, tuesday.measures.logged.tries) == (2, 2)
    newest = compared(people).groups[0]
    assert newest.classes[0].pk == fresh.pk
    assert newest.differs["logged"] == "open" and newest.measures.logged.hits == 0


def test_shares_efforts_and_results_of_a_group(people):
    tuck = "1.2 tuck rock"
    held(people, 7, {people.ana: ("10:00", "", 6), people.ben: ("11:00", tuck, 9)})
    held(people, 1, {people.ana: ("10:00", "", 7), people.cleo: ("9:00", "", None)})
    whole = compared(people).whole
    prescribed = whole.measures.prescribed
    assert (prescribed.hits, prescribed.tries, prescribed.n) == (3, 4, 3)
    effort = whole.measures.effort
    assert (effort.value, effort.n) == (7, 3)
    assert (whole.results, whole.members, whole.expected) == (4, 3, 0)
    assert whole.measures.logged is None


def test_quick_people_do_not_make_a_class_quick(people):
    """The same classes; the quick go to one, the slow to the other, one goes to both kinds.
    Everybody was as fast as ever, so no class was faster than the people in it."""
    quick, slow, both = people.members
    for days in range(1, 9):
        fast, late = ("6:00", "12:00")
        marks = {both: "9:00", **({quick: fast} if days % 2 else {slow: late})}
        held(people, days, marks)
    for group in compared(people).groups:
        assert group.measures.pace.value == pytest.approx(0, abs=1e-5)


def test_a_day_on_which_the_same_people_were_slower_is_seen(people):
    members = crowd(people, 6)
    for days in range(1, 7):
        slow = days == 3
        marks = {m: f"{(12 if slow else 8)}:{n:02}" for n, m in enumerate(members)}
        held(people, days, marks)
    slow = compared(people).groups[2]
    assert slow.differs["pace"] == "lower" and slow.pace_by == "members"
    assert slow.measures.pace.n == 6


def test_one_workout_again_and_again_says_nothing_of_a_coach_or_an_hour(people):
    """All of one coach's classes are one workout: its speed is the workout's, not the coach's."""
    members = crowd(people, 6)
    for days in range(1, 13):
        mine = days % 2
        marks = {m: f"{(6 if mine else 12)}:{days:02}" for m in members}
        held(people, days, marks, coach=people.coach if mine else people.owner,
             text=FOR_TIME if mine else FOR_TIME.replace("18-12-6", "18-12-8"))  # fmt: skip
    for group in compared(people, "coach").groups:
        assert group.pace_by == "workouts" and group.measures.pace.n == 1
        assert group.differs["pace"] == "few"


def test_strength_pieces_and_nothing_done_have_no_pace(people):
    held(people, 2, {people.ana: "80 kg", people.ben: "60 kg"}, text=LIFT)
    held(people, 1, {people.ana: "0 reps", people.ben: "10:00"})
    for group in compared(people).groups:
        assert group.measures.pace.value is None
        assert group.measures.prescribed.tries == 2


def test_a_share_that_differs_and_one_that_does_not(people):
    members = crowd(people, 20)
    tuck = "1.2 tuck rock"
    for days in (1, 2):
        done_as = tuck if days == 1 else ""
        held(people, days, {m: ("10:00", done_as, 7) for m in members})
    newest, before = compared(people).groups
    assert (newest.differs["prescribed"], before.differs["prescribed"]) == ("lower", "higher")
    assert newest.differs["effort"] == "none"
    assert newest.differs["logged"] == "alone"


# --- the page ------------------------------------------------------------------


@pytest.fixture
def today(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def page(client, people, today):
    client.force_login(people.coach.user)

    def _page(**asked):
        answer = client.get(reverse("compare"), asked)
        return answer, " ".join(answer.content.decode().split())

    return _page


def test_few_people_are_said_to_be_too_few(people, page):
    held(people, 1, {people.ana: ("10:00", "", 8)})
    _, told = page()
    assert "1 of 1, from 1 member: too few to say" in told and "100 %" not in told
    assert "1 told: too few to say" in told
    assert "of 20 such differences" in told.lower()


def test_a_picture_says_in_words_what_it_shows(people, page):
    members = crowd(people, 8)
    for days in (1, 2):
        held(people, days, {m: ("10:00", "", 7) for m in members})
    _, told = page(by="coach")
    assert 'aria-label="As prescribed: 100 % (16 of 16), very likely 68 to 100 %"' in told
    assert "Not a mark for a coach" in told


def test_what_was_typed_stands_again_beside_what_is_wrong(page, people):
    answer, told = page(**{"from": "2026-13-01", "by": "week"})
    assert answer.status_code == 422
    assert 'value="2026-13-01"' in told and "is no day" in told
    assert '<option value="week" selected>' in told


def test_a_foreign_script_in_the_address_is_only_text(page, people):
    answer, told = page(**{"from": '"><script>x</script>'})
    assert answer.status_code == 422 and "<script>x" not in told


def test_no_class_is_said_to_be_none(page, people):
    assert "No classes were held" in page()[1]


def test_400_members_and_36_classes_take_few_queries(
    people, page, client, django_assert_max_num_queries
):
    """Rows straight into the tables: what is asked here is how many questions are asked."""
    first = held(people, 1, {people.ana: ("10:00", "", 7)})
    row, fact = Score.objects.get(), Fact.objects.get()
    members = Membership.objects.bulk_create(
        Membership(gym=people.gym, display_name=f"Member {n:03}") for n in range(399)
    )
    for number in range(36):
        streamed = first
        if number:
            streamed = StreamedClass.objects.get(pk=first.pk)
            streamed.pk, streamed.starts_at = None, NOW - timedelta(days=2 * number + 1)
            streamed.save()
        results = Result.objects.bulk_create(
            Result(streamed_class=streamed, member=m) for m in members
        )
        facts = Fact.objects.bulk_create(
            Fact(result=r, number=1, mark="10:00", effort=n % 11, entered_by=people.coach)
            for n, r in enumerate(results)
        )
        fields = {f.attname: getattr(row, f.attname) for f in Score._meta.concrete_fields}
        for gone in ("id", "result_id", "fact_id", "streamed_class_id"):
            del fields[gone]
        Score.objects.bulk_create(
            Score(result=r, fact=f, streamed_class=streamed, **fields)
            for r, f in zip(results, facts, strict=True)
        )
    assert Score.objects.count() == 36 * 399 + 1 and fact.effort == 7
    for by in ("class", "week", "coach", "hour", "weekday"):
        with django_assert_max_num_queries(12):
            answer, told = page(by=by)
        assert answer.status_code == 200 and "14,365 results" in told
    with django_assert_max_num_queries(12):
        client.get(reverse("workout-runs", args=[first.workout_id]))


def test_other_texts_than_ladders_compare_too(people, page):
    held(people, 1, {people.ana: "2+9", people.ben: "2+5"}, text=TWO_LADDERS, weighted=True)
    streamed = held(people, 2, {people.ana: "2+9"}, text=TWO_LADDERS)
    log(held(people, 3, closed=False, text=TWO_LADDERS), people.ben, "1+3")
    answer, told = page()
    assert answer.status_code == 200 and reverse("class-manage", args=[streamed.pk]) in told
