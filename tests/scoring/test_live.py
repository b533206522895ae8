"""A class while results come in: who is missing, what is asked, what renews itself."""

from datetime import timedelta

import pytest
from django.urls import reverse

from members.models import AuditEntry, Membership, Role, User
from scoring.models import Fact, QuestionAnswer, Result, Score
from scoring.problems import Refused
from scoring.selectors.live import live, live_version
from scoring.selectors.questions import questions
from scoring.selectors.usual import usual
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result
from scoring.services.own_data import own_data
from scoring.services.pains import tell_pain
from scoring.services.questions import answer_question
from scoring.services.requests import ask_for_change
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member
from .classes import log, make_class


def class_on(people, days, hours=0, **kwargs):
    """A class so many days and hours from ``NOW``, a Tuesday."""
    streamed = make_class(people, **kwargs)
    streamed.starts_at = NOW + timedelta(days=days, hours=hours)
    streamed.save()
    return streamed


def seen(people, streamed, **kwargs):
    return live(streamed_class=streamed, viewer=people.coach, **kwargs)


def test_usual_are_those_of_the_same_time_of_the_week(people):
    for week in (1, 2, 3, 4):
        log(class_on(people, -7 * week), people.ana, "2+9")
        log(class_on(people, -7 * week + 2), people.ben, "2+9")  # Thursdays
        log(class_on(people, -7 * week, hours=-6), people.cleo, "2+9")  # at noon
    found = usual(class_on(people, 0))
    assert found.members == {people.ana.pk} and (found.least, found.of) == (2, 4)
    assert found.rule == (
        "Usually here: logged in at least 2 of the last 4 classes at this time of the week."
    )


def test_a_new_time_of_the_week_falls_back_on_the_last_classes_of_all(people):
    for day in (1, 2, 3, 4):
        streamed = class_on(people, -day)
        log(streamed, people.ana, "2+9")
        if day < 2:
            log(streamed, people.ben, "2+9")
    class_on(people, -5)  # nobody logged: it says nothing of who comes
    found = usual(class_on(people, 0))
    assert found.members == {people.ana.pk} and found.rule.endswith("2 of the last 4 classes.")


def test_half_of_six_is_usual_and_one_class_alone_never_is(people):
    assert "too few" in usual(class_on(people, 0)).rule
    log(class_on(people, -1), people.ana, "2+9")
    assert usual(class_on(people, 0)).members == frozenset()
    for day in range(2, 9):
        log(class_on(people, -day), people.ben, "2+9")
    found = usual(class_on(people, 0))
    assert found.members == {people.ben.pk} and (found.least, found.of) == (3, 6)


def test_a_week_goes_round_between_sunday_and_monday(people):
    for week in (1, 2, 3):  # Sundays 23:30
        log(class_on(people, -7 * week + 5, hours=5), people.ana, "2+9")
    found = usual(class_on(people, 5, hours=6))  # a Monday, 00:30
    assert found.is_same_time and found.members == {people.ana.pk}


def test_the_newest_stand_first_with_rank_options_and_effort(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9", effort=8)
    log(streamed, people.ben, "3+0", "tuck rock; knee push-up")
    shown = seen(people, streamed)
    told = [(row.score.result.member, row.rank, row.options) for row in shown.newest]
    # Ben: 204 reps less 36 × 0.25 and 30 × 0.3 is 186, behind Ana's 189.
    assert told == [(people.ben, 2, "tuck rock, knee push-up"), (people.ana, 1, "")]
    assert [row.score.fact.effort for row in shown.newest] == [None, 8]
    found = seen(people, streamed, name="OKOR")
    assert [row.rank for row in found.newest] == [2] and found.listed == 1 and found.logged == 2


def test_it_is_for_the_gyms_coaches_only(people):
    streamed = make_class(people)
    log(streamed, people.ana, "48+0")
    for viewer in (None, people.ana, people.foreign_coach):
        assert live(streamed_class=streamed, viewer=viewer) is None
        assert questions(streamed_class=streamed, viewer=viewer) == []


def test_too_fast_is_asked_until_found_right_and_anew_for_another_fact(people):
    streamed = make_class(people)
    result = log(streamed, people.ana, "48+0").result
    [asked] = questions(streamed_class=streamed, viewer=people.coach)
    assert asked.kind == "fast" and "18:15" in asked.reason and asked.result == result

    def right(fact_id, by=people.coach, kind="fast"):
        return answer_question(streamed_class=streamed, fact_id=fact_id, kind=kind, by=by, now=NOW)

    right(asked.fact.pk)
    right(asked.fact.pk)
    assert questions(streamed_class=streamed, viewer=people.owner) == []
    assert QuestionAnswer.objects.count() == 1 and Score.objects.get().fact == asked.fact
    [entry] = AuditEntry.objects.filter(what="find-result-right")
    assert (entry.by, entry.member, entry.details["mark"]) == (people.coach, people.ana, "48+0")
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="49+0"), reason="recount", now=NOW
    )
    [again] = questions(streamed_class=streamed, viewer=people.coach)
    assert again.fact.mark == "49+0"
    with pytest.raises(Refused) as refused:
        right(asked.fact.pk)
    assert refused.value.kind == "conflict"
    for by in (people.ana, people.foreign_coach):
        with pytest.raises(Refused) as refused:
            right(again.fact.pk, by=by)
        assert refused.value.kind == "forbidden"
    with pytest.raises(Refused, match="not known"):
        right(again.fact.pk, kind="ugly")


def test_what_was_found_right_is_in_the_members_own_copy(people):
    streamed = make_class(people)
    fact = log(streamed, people.ana, "48+0").fact
    answer_question(streamed_class=streamed, fact_id=fact.pk, kind="fast", by=people.coach, now=NOW)
    [row] = own_data(people.ana.user)["results_found_right"]
    assert (row["mark"], row["asked_about"], row["answered_by"]) == ("48+0", "fast", "a coach")
    assert own_data(people.ben.user)["results_found_right"] == []


def test_unlike_ones_own_history_is_asked_from_five_results_on(people):
    others = [add_member(people.gym, f"Member {n}") for n in range(5)]
    for week in range(6, 0, -1):
        streamed = class_on(people, -7 * week)
        for member in (people.ana, *others):
            log(streamed, member, "2+9")
        if week > 2:  # four results only
            log(streamed, people.ben, "2+9")
    today = class_on(people, 0)
    for member in others:
        log(today, member, "2+9")
    # 189 reps are the class's middle; 9+0 is 348 reps, 184 % of it.
    log(today, people.ana, "9+0")
    log(today, people.ben, "9+0")
    [asked] = questions(streamed_class=today, viewer=people.coach)
    assert (asked.kind, asked.result.member) == ("unlike", people.ana)
    # A mark that can't be is asked about once, not also as an unusual one.
    log(today, people.ana, "48+0")
    again = questions(streamed_class=today, viewer=people.coach)
    assert [(each.kind, each.result.member) for each in again] == [("fast", people.ana)]
    assert asked.reason == (
        "184 % of the class's middle pace. In their last 6 results it was 100 % in the middle, "
        "from 100 % to 100 %."
    )


def test_the_same_mark_with_the_same_splits_twice_is_not_odd(people):
    streamed = make_class(people)
    for member in (people.ana, people.ben):
        log(streamed, member, "2+9", splits={"1": "4:10", "2": "9:00"})
    assert questions(streamed_class=streamed, viewer=people.coach) == []


def test_all_out_in_a_first_class_is_asked_with_care_and_later_not(people):
    log(class_on(people, -7), people.ben, "2+9")
    streamed = class_on(people, 0)
    for member in (people.ana, people.ben):
        log(streamed, member, "2+9", effort=10)
    [asked] = questions(streamed_class=streamed, viewer=people.coach)
    assert (asked.kind, asked.result.member) == ("all-out", people.ana)


def test_the_version_moves_with_everything_that_is_told(people):
    streamed = make_class(people)
    told = []

    def version():
        streamed.refresh_from_db()
        told.append(live_version(streamed_class=streamed, viewer=people.coach))

    version()
    fact = log(streamed, people.ana, "48+0").fact
    version()
    tell_pain(streamed_class=streamed, member=people.ana, areas=["knee"], words="", now=NOW)
    version()
    later = NOW + timedelta(minutes=1)
    tell_pain(streamed_class=streamed, member=people.ana, areas=["wrist or hand"], words="",
              now=later)  # fmt: skip
    version()
    answer_question(streamed_class=streamed, fact_id=fact.pk, kind="fast", by=people.coach, now=NOW)
    version()
    add_member(people.gym, "Newly Come")
    version()
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    version()
    streamed.refresh_from_db()
    ask_for_change(
        streamed_class=streamed, member=people.ben, data=ResultInput(mark="2+9"), words="please",
        now=NOW,
    )  # fmt: skip
    version()
    assert len(set(told)) == len(told) == 8
    assert live_version(streamed_class=streamed, viewer=people.coach) == told[-1]


@pytest.fixture
def coach(people, client):
    client.force_login(people.coach.user)
    return client


def test_unchanged_the_live_part_is_a_304_and_changed_it_is_told_politely(people, coach):
    streamed = make_class(people)
    address = reverse("class-live", args=[streamed.pk])
    first = coach.get(address)
    assert first.status_code == 200 and "private" in first["Cache-Control"]
    assert coach.get(address, headers={"If-None-Match": first["ETag"]}).status_code == 304
    log(streamed, people.ana, "2+9")
    second = coach.get(address, headers={"If-None-Match": first["ETag"]})
    page = second.content.decode()
    assert second.status_code == 200 and second["ETag"] != first["ETag"]
    assert 'hx-swap-oob="innerHTML:#live-said"' in page and "The newest: Ana Sol, 2+9." in page
    # Another part of the list is another thing.
    assert coach.get(address, {"start": 25})["ETag"] != second["ETag"]


def test_the_page_has_the_region_that_speaks_and_can_be_held_still(people, coach):
    streamed = make_class(people)
    address = reverse("class-manage", args=[streamed.pk])
    page = coach.get(address).content.decode()
    assert 'role="status" id="live-said"' in page and 'hx-trigger="every 5s"' in page
    assert "hx-trigger" not in coach.get(address, {"still": "1"}).content.decode()
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    assert "hx-trigger" not in coach.get(address).content.decode()


def test_what_hurts_stands_before_all_questions_with_cautions(people, coach):
    streamed = make_class(people)
    log(streamed, people.ana, "48+0")
    tell_pain(streamed_class=streamed, member=people.ben, areas=["chest"], words="tight", now=NOW)
    page = coach.get(reverse("class-manage", args=[streamed.pk])).content.decode()
    assert page.index("Something hurts") < page.index("Is this right?") < page.index('id="logged"')
    assert "call the emergency number" in page and "physiotherapist" in page
    assert reverse("member-page", args=[people.ben.pk]) in page


def test_a_question_is_answered_or_leads_to_the_correction_filled_in(people, coach):
    streamed = make_class(people)
    result = log(streamed, people.ana, "48+0", "tuck rock").result
    address = reverse("class-manage", args=[streamed.pk])
    page = coach.get(address).content.decode()
    correct = reverse("result-correct", args=[result.pk])
    assert correct in page and "Even somebody very quick" in page
    form = coach.get(correct).content.decode()
    assert 'value="48+0"' in form and "1.2 tuck rock" in form
    coach.post(address, {"act": "right", "question": f"{result.current_id}-fast"})
    assert "Is this right?" not in coach.get(address).content.decode()
    for odd in ("", "x", "-", "9-fast", f"{result.current_id}-ugly"):
        assert coach.post(address, {"act": "right", "question": odd}).status_code == 422


def test_a_correction_is_for_the_gyms_coaches(people, client):
    result = log(make_class(people), people.ana, "2+9").result
    address = reverse("result-correct", args=[result.pk])
    for viewer, status in ((people.ana, 403), (people.foreign_coach, 404), (people.owner, 200)):
        client.force_login(viewer.user)
        assert client.get(address).status_code == status


def many(people, count=400):
    """So many members, three quarters of whom logged today; the last six classes had all."""
    users = User.objects.bulk_create([User(email=f"m{n}@example.org") for n in range(count)])
    members = Membership.objects.bulk_create(
        [
            Membership(gym=people.gym, user=user, display_name=f"Member {n:03d}", role=Role.MEMBER)
            for n, user in enumerate(users)
        ]
    )
    for days in (-42, -35, -28, -21, -14, -7, 0):
        streamed = class_on(people, days)
        model = log(streamed, people.ana, "2+9", "tuck rock", effort=7)
        there = members if days else members[: count * 3 // 4]
        results = Result.objects.bulk_create(
            [Result(streamed_class=streamed, member=member) for member in there]
        )
        facts = Fact.objects.bulk_create(
            [
                Fact(result=r, number=1, mark="48+0", options="", entered_by=r.member,
                     created_at=NOW)
                for r in results
            ]
        )  # fmt: skip
        for result, fact in zip(results, facts, strict=True):
            result.current = fact
        Result.objects.bulk_update(results, ["current"])
        fields = {
            f.name: getattr(model.score, f.name)
            for f in Score._meta.fields
            if f.name not in ("id", "result", "fact", "key")
        }
        Score.objects.bulk_create(
            [
                Score(result=r, fact=f, key=model.score.key + n, **fields)
                for n, (r, f) in enumerate(zip(results, facts, strict=True))
            ]
        )
    return streamed


def test_with_400_members_no_query_is_asked_for_each(people, coach, django_assert_max_num_queries):
    streamed = many(people)
    with django_assert_max_num_queries(20):  # an empty board store asks for a few more
        shown = seen(people, streamed)
    assert (shown.logged, shown.usual_total, shown.usual_there) == (301, 401, 301)
    assert len(shown.newest) == 25 and len(shown.questions) == 300
    with django_assert_max_num_queries(40):
        page = coach.get(reverse("class-manage", args=[streamed.pk])).content.decode()
    assert "301 of 401" in page and "Older" in page
    # Of so many questions and names a part is shown, and how many there are is said.
    assert page.count("looks right") <= 20 and "Is this right? 300" in page
    assert page.count('name="for"') <= 60 + 40 and "Not logged: 102" in page
    older = coach.get(reverse("class-manage", args=[streamed.pk]), {"start": 300})
    assert "301 to 301 of 301" in older.content.decode()
    found = coach.get(reverse("class-manage", args=[streamed.pk]), {"name": "member 007"})
    assert "Names with “member 007”: 1" in found.content.decode()
