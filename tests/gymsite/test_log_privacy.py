"""Whatever people type, ask for or are called, none of it is in any line that is logged."""

import io
import json
import logging
import logging.config

import pytest
from django.conf import settings
from django.db import IntegrityError, connection
from django.test import Client

from members.devices import make_token, revoke_token
from scoring import tasks
from scoring.api import results as api_results
from scoring.messages import due
from scoring.models import Message
from scoring.pages import log as log_page

from ..members.test_pages import code_from_mail
from ..scoring.classes import log, make_class
from ..scoring.mail import NOON, prove_all
from ..scoring.test_message_sending import server  # noqa: F401 - a fixture

NOTE = "my kneecap aches since Wednesday"
# What is planted, and what of it would betray somebody.
PLANTED = (
    "Ana", "Sol", "Okoro", "ana.sol", "example.org", "kneecap", "Wednesday", "Harbour",
    "s3cret", "phone-of", "192.0.2.77", "2+9", "tuck", "evil.test",
)  # fmt: skip


@pytest.fixture
def lines():
    """Every line at every level, as the site's own formatter writes it."""
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    made = logging.config.DictConfigurator({"version": 1})
    handler.setFormatter(made.configure_formatter(dict(settings.LOGGING["formatters"]["json"])))
    root = logging.getLogger()
    before = root.level
    root.addHandler(handler)
    root.setLevel(logging.DEBUG)
    try:
        yield lambda: [json.loads(line) for line in out.getvalue().splitlines()]
    finally:
        root.removeHandler(handler)
        root.setLevel(before)


@pytest.fixture
def visitor():
    return Client(
        raise_request_exception=False,
        headers={"User-Agent": "phone-of-Ana", "X-Forwarded-For": "192.0.2.77"},
    )


def clean(found):
    """That there are lines, and nothing planted in any of them; their events."""
    assert found
    for line in found:
        told = json.dumps(line, ensure_ascii=False)
        assert not [word for word in PLANTED if word in told], told
    return [line["event"] for line in found]


def events(found):
    return {line["event"] for line in found}


def test_signing_in_with_a_wrong_code_and_then_the_right_one(lines, visitor, people):
    address = {"email": people.ana.user.email}
    visitor.post("/accounts/login/code/?next=/join/s3cret/", address)
    visitor.post("/accounts/login/code/confirm/", {"code": "NOTITX"})
    visitor.post("/accounts/login/code/confirm/", {"code": code_from_mail()})
    found = lines()
    clean(found)
    assert {"sign_in_failed", "signed_in"} <= events(found)
    [signed_in] = [line for line in found if line["event"] == "signed_in"]
    assert signed_in["user_id"] == people.ana.user.pk and signed_in["request_id"]


def test_pages_that_are_asked_for_with_words_in_their_address(lines, visitor, people):
    visitor.force_login(people.ana.user)
    for path in (
        "/?q=Ana%20Sol", "/join/s3cret/", "/calendar/s3cret.ics", "/unsubscribe/3-opened:s3cret/",
        "/me/export/s3cret/", "/Ana%20Sol/", "/classes/99/?name=Okoro", "/nothing/Wednesday",
        "/api/v1/weeks/Ana/", "/api/v1/me/export/s3cret/", "/members/?q=kneecap",
    ):  # fmt: skip
        visitor.get(path)
    visitor.get("/", headers={"Host": "evil.test"})
    visitor.get("/", headers={"X-Request-ID": "Ana Sol ana.sol@example.org"})
    clean(lines())


def test_results_by_the_page_good_bad_and_when_it_breaks(lines, visitor, people, monkeypatch):
    streamed = make_class(people)
    visitor.force_login(people.ana.user)
    typed = {"key": "k", "mark": "2+9", "note": NOTE, "options": "tuck rock"}
    address = f"/classes/{streamed.pk}/log/"
    assert visitor.post(address, typed).status_code == 302
    assert visitor.post(address, typed | {"mark": "kneecap", "key": "x"}).status_code == 422

    def breaks(**_):
        raise ValueError(f"{people.ana.display_name}: {NOTE}") from IntegrityError(
            f"Key (email)=({people.ana.user.email}) exists. Failing row contains ({NOTE})."
        )

    monkeypatch.setattr(log_page, "submit_result", breaks)
    assert visitor.post(address, typed | {"key": "y"}).status_code == 500
    found = lines()
    clean(found)
    told = [line["exception"] for line in found if "exception" in line]
    assert [one["kind"] for one in told[0]] == ["ValueError", "IntegrityError"]


def test_results_by_the_api_good_bad_and_when_it_breaks(lines, visitor, people, monkeypatch):
    streamed = make_class(people)
    token = make_token(user=people.ana.user).token
    address = f"/api/v1/classes/{streamed.pk}/results/"
    head = {"Authorization": f"Token {token}", "Idempotency-Key": "Ana-1"}
    body = {"mark": "2+9", "note": NOTE, "options": "tuck rock"}

    def post(data, **more):
        given = {"content_type": "application/json", "headers": head | more}
        return visitor.post(address, data, **given).status_code

    assert post(body) == 201
    assert post(body | {"mark": "kneecap"}) == 422
    assert post(body | {"colour": "kneecap"}) in (200, 400, 422)
    assert post("{Ana Sol") == 400
    assert post(body, Authorization="Token s3cret") == 401

    def breaks(**_):
        raise ValueError(NOTE)

    monkeypatch.setattr(api_results, "submit_result", breaks)
    assert post(body) == 500
    found = lines()
    clean(found)
    assert token not in json.dumps(found)
    assert "exception" in json.dumps(found)


def test_what_a_database_says_of_a_row_it_refuses(lines, visitor, people, monkeypatch):
    """A real refusal: PostgreSQL's own words repeat the whole row."""
    streamed = make_class(people)
    visitor.force_login(people.ana.user)

    def breaks(**_):
        with connection.cursor() as cursor:
            cursor.execute(
                "INSERT INTO members_user (email, password) VALUES (%s, %s)",
                [people.ana.user.email, NOTE],
            )

    monkeypatch.setattr(log_page, "submit_result", breaks)
    typed = {"key": "k", "mark": "2+9", "note": NOTE}
    answer = visitor.post(f"/classes/{streamed.pk}/log/", typed)
    assert answer.status_code >= 500
    clean(lines())


def test_statements_are_never_logged_even_for_who_debugs(lines, people):
    connection.force_debug_cursor = True
    try:
        log(make_class(people), people.ana, "2+9", note=NOTE)
    finally:
        connection.force_debug_cursor = False
    assert not [line for line in lines() if line["logger"].startswith("django.db")]


def test_messages_that_a_mail_server_refuses_and_repeats(lines, people, server, monkeypatch):  # noqa: F811
    monkeypatch.setattr(tasks.timezone, "now", lambda: NOON)  # in nobody's quiet hours
    prove_all()
    due.opened(class_id=make_class(people).pk, now=NOON)
    server.on_send = ValueError(f"550 {people.ana.user.email} Ana Sol unknown here")
    for pk in Message.objects.values_list("pk", flat=True):
        tasks.send_message.apply(args=[pk], throw=False)
    found = lines()
    clean(found)
    [refused] = [line for line in found if line["logger"] == "scoring.messages.sending"]
    assert refused["exception"][0]["kind"] == "ValueError"


def test_a_task_that_fails(lines, people, monkeypatch):
    def breaks(**_):
        raise ValueError(NOTE)

    monkeypatch.setattr(tasks.recomputing, "go_on", breaks)
    streamed = make_class(people)
    tasks.recompute.apply(args=[streamed.pk], throw=False)
    found = lines()
    assert any("scoring.recompute" in event for event in clean(found))
    assert any(line.get("exception", [{}])[0].get("kind") == "ValueError" for line in found)


def test_tokens_are_told_by_whose_they_are(lines, people):
    made = make_token(user=people.ana.user)
    assert revoke_token(user=people.ana.user, key=made.row.token_key)
    assert not revoke_token(user=people.ana.user, key="other")
    found = lines()
    clean(found)
    told = [(line["event"], line["user_id"]) for line in found]
    assert told == [("token_made", people.ana.user.pk), ("token_revoked", people.ana.user.pk)]
    assert made.token[:8] not in json.dumps(found)


def test_who_is_turned_away_is_told_by_number(lines, visitor, people):
    visitor.force_login(people.ana.user)
    assert visitor.get("/members/settings/").status_code in (403, 404)
    assert visitor.get("/metrics/?name=Ana").status_code == 403
    found = lines()
    clean(found)
    [turned_away] = [
        line for line in found
        if line["event"] == "request_finished" and line["request"] == "GET /metrics/"
    ]  # fmt: skip
    assert (turned_away["code"], turned_away["user_id"]) == (403, people.ana.user.pk)
