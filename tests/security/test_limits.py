"""Too often: told when to come back, per person and never per household, and nothing is lost."""

import re

import pytest
from django.conf import settings as site
from django.core import mail
from django.test import Client
from django.urls import reverse

from gymsite.rates import account_rate
from members.limits import Limit
from members.models import Invitation
from members.services import invite
from scoring.models import Fact

from ..conftest import NOW
from ..scoring.classes import make_class

ELSEWHERE = {"REMOTE_ADDR": "203.0.113.9"}  # an address for documents, RFC 5737


@pytest.fixture
def at_most(monkeypatch):
    """``at_most(submit="2/min")`` for the length of a test."""

    def _at_most(**rates):
        for scope, rate in rates.items():
            monkeypatch.setitem(site.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"], scope, rate)

    return _at_most


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def send(client, streamed, number, **more):
    return client.post(
        reverse("class-log", args=[streamed.pk]),
        {"place": "finish", "time": "", "key": f"key-{number}", "mark": "", "note": "", **more},
    )


def test_logging_by_page_too_often_keeps_what_was_typed(people, at_most):
    at_most(submit="2/min")
    streamed, client = make_class(people), signed_in(people.ana)
    typed = {"note": "grip & <wind>", "words": "two\nlines", "hurts": ["knee", "wrist"]}
    answers = [send(client, streamed, n, **typed) for n in range(3)]
    assert [a.status_code for a in answers[:2]] != [429, 429]
    last = answers[2]
    assert last.status_code == 429 and 0 < int(last["Retry-After"]) <= 60
    html = last.content.decode()
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', html, re.S)
    assert ("note", "grip &amp; &lt;wind&gt;") in fields and ("words", "two\nlines") in fields
    assert [v for n, v in fields if n == "hurts"] == ["knee", "wrist"]
    assert f'action="{reverse("class-log", args=[streamed.pk])}"' in html
    assert html.count("csrfmiddlewaretoken") == 1
    assert not Fact.objects.exists()


def test_what_was_kept_is_sent_as_it_is_once_the_time_is_over(people, at_most, time_machine):
    at_most(submit="1/min")
    time_machine.move_to(NOW)
    streamed, client = make_class(people), signed_in(people.ana)
    page = client.get(reverse("class-log", args=[streamed.pk])).content.decode()
    set_name = re.search(r'name="place" value="([^"]+)"', page).group(1)
    send(client, streamed, 1)
    refused = send(client, streamed, 2, place=set_name, reps="3", time="")
    html = refused.content.decode()
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', html))
    assert refused.status_code == 429 and not Fact.objects.exists()
    time_machine.shift(int(refused["Retry-After"]) + 1)
    assert client.post(reverse("class-log", args=[streamed.pk]), fields).status_code == 302
    assert Fact.objects.get().result.member == people.ana


def test_a_page_and_the_api_count_together(people, at_most):
    at_most(submit="2/min")
    streamed, client = make_class(people), signed_in(people.ana)
    send(client, streamed, 1)
    where = reverse("api-results", args=[streamed.pk])
    sent = {"mark": "2+9"}
    first = client.post(
        where, sent, content_type="application/json", headers={"Idempotency-Key": "a"}
    )
    then = client.post(
        where, sent, content_type="application/json", headers={"Idempotency-Key": "b"}
    )
    assert (first.status_code, then.status_code) == (201, 429)
    assert then["Content-Type"] == "application/problem+json"
    assert then.json()["status"] == 429 and int(then["Retry-After"]) > 0


def test_a_household_behind_one_address_logs_together(people, at_most):
    at_most(submit="1/min")
    streamed = make_class(people)
    for member in people.members:
        answer = send(signed_in(member), streamed, member.pk)
        assert answer.status_code != 429


def test_the_limit_of_a_person_goes_along_to_another_address(people, at_most):
    at_most(submit="1/min")
    streamed, client = make_class(people), signed_in(people.ana)
    send(client, streamed, 1)
    client.defaults |= ELSEWHERE
    assert send(client, streamed, 2).status_code == 429


def test_trying_a_mark_out_has_a_limit_of_its_own(people, at_most):
    at_most(preview="1/min", submit="1/min")
    streamed, client = make_class(people), signed_in(people.ana)
    where = reverse("class-log-try", args=[streamed.pk])
    assert [client.post(where).status_code for _ in range(2)] == [200, 429]
    assert send(client, streamed, 1).status_code != 429


def test_a_coach_writes_lines_within_the_same_limit(people, at_most):
    at_most(submit="1/min")
    streamed, client = make_class(people), signed_in(people.coach)
    where = reverse("class-manage", args=[streamed.pk])
    sent = {"act": "line", "line": "ana 2+9"}
    assert [client.post(where, sent).status_code == 429 for _ in range(2)] == [False, True]


def test_making_invitations_is_limited_and_looking_is_not(people, at_most):
    at_most(invite="2/hour")
    client, where = signed_in(people.coach), reverse("member-list")
    sent = {"act": "invite", "role": "member", "max_uses": "1", "days": "14"}
    assert [client.post(where, sent).status_code for _ in range(3)] == [200, 200, 429]
    assert Invitation.objects.count() == 2
    assert client.get(where).status_code == 200
    assert client.post(where, {"act": "add", "display_name": "Dora"}).status_code == 302
    by_api = client.post("/api/v1/invitations/", {}, content_type="application/json")
    assert by_api.status_code == 429
    assert client.get("/api/v1/invitations/").status_code == 200


def test_handing_entries_over_counts_as_making_invitations(people, at_most):
    at_most(invite="1/hour")
    client, where = signed_in(people.coach), reverse("member-list")
    client.post(where, {"act": "add", "display_name": "Dora"})
    entry = people.gym.memberships.get(display_name="Dora")
    sent = {"act": "claim", "member": entry.pk}
    assert [client.post(where, sent).status_code for _ in range(2)] == [200, 429]


def test_joining_and_claiming_are_limited_per_person(people, at_most):
    at_most(join="1/min")
    links = [invite(by=people.coach, now=NOW).token for _ in range(2)]
    client = signed_in(people.foreigner)
    answers = [
        client.post(reverse("join", args=[link]), {"display_name": "Finn"}) for link in links
    ]
    assert answers[0].status_code != 429 and answers[1].status_code == 429
    assert 'value="Finn"' in answers[1].content.decode()
    assert client.get(reverse("join", args=[links[1]])).status_code != 429
    assert signed_in(people.foreign_coach).post(
        reverse("join", args=[links[1]]), {"display_name": "Cora"}
    ).status_code != 429  # fmt: skip


def test_a_stranger_who_guesses_links_is_stopped_by_address(people, at_most):
    at_most(guess="2/min")
    client = Client()
    answers = [client.get(f"/join/guess{n}/").status_code for n in range(3)]
    assert answers == [410, 410, 429]
    good = invite(by=people.coach, now=NOW).token
    assert client.get(reverse("join", args=[good])).status_code == 200
    assert Client(**ELSEWHERE).get("/join/guess9/").status_code == 410


def test_tokens_are_made_within_a_limit_on_the_page_too(people, at_most):
    at_most(token="1/min")
    client, where = signed_in(people.ana), reverse("device-list")
    assert [client.post(where, {"act": "make"}).status_code for _ in range(2)] == [200, 429]
    assert client.post(where, {"act": "revoke", "token": "x"}).status_code == 302


def test_codes_are_sent_to_an_address_a_few_times_only(people, settings):
    settings.ACCOUNT_RATE_LIMITS = {"request_login_code": "2/m/key"}
    answers = []
    for n in range(3):
        client = Client(REMOTE_ADDR=f"203.0.113.{n}")
        answers.append(client.post("/accounts/login/code/", {"email": people.ana.user.email}))
    assert [a.status_code for a in answers] == [302, 302, 429]
    assert int(answers[2]["Retry-After"]) > 0
    assert f'value="{people.ana.user.email}"' in answers[2].content.decode()
    assert len(mail.outbox) == 2
    other = Client().post("/accounts/login/code/", {"email": people.ben.user.email})
    assert other.status_code == 302


def test_the_codes_of_an_hour_leave_few_guesses(people, settings):
    """Three tries a code and ten codes an hour: thirty guesses at eight signs."""
    from gymsite.settings import base

    assert "10/3600s/key" in base.ACCOUNT_RATE_LIMITS["request_login_code"]
    client = Client()
    client.post("/accounts/login/code/", {"email": people.ana.user.email})
    where = "/accounts/login/code/confirm/"
    tries = [client.post(where, {"code": "WRONGONE"}).status_code for _ in range(3)]
    assert tries == [200, 200, 302]
    right = re.search(r"^[A-Z0-9-]{7,9}$", mail.outbox[-1].body, re.M).group()
    client.post(where, {"code": right})
    assert client.get(reverse("profile")).status_code == 302


def test_counting_costs_no_query(people, at_most, django_assert_num_queries, rf):
    at_most(submit="5/min")
    request = rf.post("/")
    request.user = people.ana.user
    with django_assert_num_queries(0):
        assert [bool(Limit("submit").wait_of(request)) for _ in range(6)] == [False] * 5 + [True]


def test_limits_hold_while_the_shared_cache_is_away(people, at_most, monkeypatch, rf):
    def away(*_args, **_kwargs):
        raise ConnectionError

    at_most(submit="1/min")
    for name in ("get", "set", "add", "incr"):
        for backend in ("db.DatabaseCache", "redis.RedisCache"):
            monkeypatch.setattr(f"django.core.cache.backends.{backend}.{name}", away)
    request = rf.post("/")
    request.user = people.ana.user
    assert [Limit("submit").wait_of(request) > 0 for _ in range(2)] == [False, True]


def test_a_clock_that_is_set_back_locks_nobody_out(people, at_most, rf, time_machine):
    at_most(submit="1/min")
    request = rf.post("/")
    request.user = people.ana.user
    time_machine.move_to(NOW)
    assert Limit("submit").wait_of(request) == 0
    time_machine.shift(-3600)
    assert [Limit("submit").wait_of(request) > 0 for _ in range(2)] == [False, True]


@pytest.mark.parametrize("wrong", ["ten/hour", "10", "10/week", "/min", "-1/min", ""])
def test_a_rate_that_is_none_is_told(wrong):
    with pytest.raises(ValueError, match="10/hour or 60/min"):
        account_rate(wrong, "ip")


def test_rates_are_told_to_the_library_of_accounts():
    assert account_rate("10/hour", "key") == "10/3600s/key"
    assert account_rate("60/min", "ip") == "60/60s/ip"
