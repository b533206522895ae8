"""Who reads what was done, by whom, and in which words."""

from django.urls import reverse

from members import services as members_services
from members.models import AuditEntry
from scoring.selectors.audit import audit_of, deed, deeds
from scoring.services import (
    correcting,
    planning,
)
from scoring.services.submitting import ResultInput

from ..conftest import NOW
from .audit_scenes import COACH_SCENES
from .classes import log, make_class


def test_only_coaches_of_the_gym_read_its_trail(people):
    make_class(people)
    assert audit_of(viewer=people.coach).count() == audit_of(viewer=people.owner).count() == 2
    for other in (people.ana, people.foreign_coach, None):
        assert not audit_of(viewer=other).exists()


def test_the_page_tells_who_what_whom_and_why_and_can_be_narrowed(client, people):
    correcting.correct_result(
        result=log(make_class(people), people.ana, "2+9").result,
        by=people.coach,
        data=ResultInput("2+8"),
        reason="miscounted",
        now=NOW,
    )
    client.force_login(people.owner.user)
    html = client.get(reverse("audit")).content.decode()
    for words in ("Carl Coach", "corrected the result of", "Ana Sol", "Why: miscounted", "2+8"):
        assert words in html
    only = client.get(reverse("audit"), {"what": "open-class"}).content.decode()
    assert "miscounted" not in only and "opened the class" in only.split("</form>")[1]
    nobody = client.get(reverse("audit"), {"member": people.ben.pk}).content.decode()
    assert "Nothing of that was done" in nobody


def test_the_api_tells_the_same(client, people):
    make_class(people)
    client.force_login(people.coach.user)
    told = client.get(reverse("api-audit"), {"what": "open-class"}).json()
    assert told["count"] == 1
    assert told["results"][0]["words"] == "opened the class"
    assert told["results"][0]["by"] == "Carl Coach"


def test_a_page_of_the_trail_takes_few_queries(client, people, django_assert_max_num_queries):
    for number in range(60):
        members_services.add_member(by=people.coach, display_name=f"Nell {number}", now=NOW)
    client.force_login(people.coach.user)
    with django_assert_max_num_queries(10):
        client.get(reverse("audit"))


def test_an_erased_person_is_named_nowhere(people):
    log(make_class(people), people.ana, "2+9", by=people.coach)
    AuditEntry.objects.filter(member=people.ana).update(member=None, why="", details={})
    told = [deed(entry) for entry in audit_of(viewer=people.coach)]
    assert all("Ana" not in d.whom and not any("2+9" in v for _, v in d.details) for d in told[:1])


def test_what_is_gone_has_no_link_and_what_is_there_has_one(client, people):
    gone, there = make_class(people, is_open=False), make_class(people)
    planning.delete_draft(streamed_class=gone, by=people.coach, now=NOW)
    client.force_login(people.coach.user)
    html = client.get(reverse("audit")).content.decode()
    assert reverse("class-manage", args=[there.pk]) in html
    assert reverse("class-manage", args=[gone.pk]) not in html


def test_a_change_of_credits_is_told_in_words(people):
    COACH_SCENES["scoring.services.credit_changes.accept"][0](people)
    [told] = deeds(audit_of(viewer=people.coach, what="change-credits"))
    details = dict(told.details)
    assert details["changes"] == "tuck rock for hollow rock not set → 0.9"
    assert "scope" not in details
