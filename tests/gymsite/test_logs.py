"""A log line tells what happened and not to whom."""

import json
import logging
import logging.config

import pytest
from django.conf import settings

from gymsite.logs import without_persons


@pytest.mark.parametrize(
    ("event", "logged"),
    [
        ("GET /join/s3cret_-x/", "GET /join/[token]/"),
        ("POST /unsubscribe/3-opened:s3cret_-x/", "POST /unsubscribe/[token]/"),
        ("GET /accounts/login/?next=/join/s3cret/", "GET /accounts/login/?next=/join/[token]/"),
        ("GET /a/?next=%2Fjoin%2Fs3cret%2F&x=1", "GET /a/?next=%2Fjoin%2F[token]%2F&x=1"),
        ("GET /a/?next=%2fjoin%2fs3cret", "GET /a/?next=%2fjoin%2f[token]"),
        ("GET /calendar/s3cret_-x.ics", "GET /calendar/[token]"),
        ("GET /a/?next=%2Fcalendar%2Fs3cret.ics&x=1", "GET /a/?next=%2Fcalendar%2F[token]&x=1"),
        ("GET /me/calendar/ 200", "GET /me/calendar/ 200"),
        ("mail to ana.sol+gym@example.org failed", "mail to [e-mail] failed"),
    ],
)
def test_secrets_and_addresses_are_masked(event, logged):
    assert without_persons(None, "info", {"event": event})["event"] == logged


def test_where_somebody_called_from_is_dropped():
    told = {"event": "x", "ip": "192.0.2.1", "user_agent": "phone", "email": "a@example.org"}
    assert without_persons(None, "info", told) == {"event": "x"}


def test_a_line_of_any_library_is_json_and_masked(capsys):
    formatter = settings.LOGGING["formatters"]["json"]
    made = logging.config.DictConfigurator({"version": 1}).configure_formatter(dict(formatter))
    record = logging.LogRecord("lib", 20, "f", 1, "hello %s", ("a@example.org",), None)
    line = json.loads(made.format(record))
    assert line["event"] == "hello [e-mail]" and line["level"] == "info"


def test_a_request_has_an_id_in_its_log_line(client, db, caplog):
    with caplog.at_level("INFO"):
        client.get("/health/live/")
    lines = [r.msg for r in caplog.records if isinstance(r.msg, dict)]
    assert [line["event"] for line in lines] == ["request_started", "request_finished"]
    assert len({line["request_id"] for line in lines}) == 1 and lines[0]["request_id"]
    assert not any("ip" in line for line in lines)
