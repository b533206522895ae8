"""A log line tells what happened and not to whom."""

import json
import logging
import logging.config
import os
import subprocess
import sys
from decimal import Decimal

import pytest
from django.conf import settings
from django.db import IntegrityError

from gymsite.logs import Line, safe_path, without_persons


@pytest.mark.parametrize(
    ("event", "logged"),
    [
        ("GET /join/s3cret_-x/", "GET /join/[token]/"),
        ("POST /unsubscribe/3-opened:s3cret_-x/", "POST /unsubscribe/[token]/"),
        ("GET /accounts/login/?next=/join/s3cret/", "GET /accounts/login/"),
        ("GET /a/?next=%2Fjoin%2Fs3cret%2F&x=1", "GET /a/"),
        ("GET /a/?next=%2fjoin%2fs3cret", "GET /a/"),
        ("GET /calendar/s3cret_-x.ics", "GET /calendar/[token]"),
        ("GET /a/?next=%2Fcalendar%2Fs3cret.ics&x=1", "GET /a/"),
        ("next=%2Fjoin%2Fs3cret%2F&x=1", "next=%2Fjoin%2F[token]%2F&x=1"),
        ("GET /me/export/s3cret_-x/", "GET /me/export/[token]/"),
        ("DELETE /api/v1/tokens/0f3a9c/", "DELETE /api/v1/tokens/[token]/"),
        ("to ana.sol%40example.org now", "to [e-mail] now"),
        ("GET /me/calendar/ 200", "GET /me/calendar/ 200"),
        ("mail to ana.sol+gym@example.org failed", "mail to [e-mail] failed"),
    ],
)
def test_secrets_and_addresses_are_masked(event, logged):
    assert without_persons(None, "info", {"event": event})["event"] == logged


def test_where_somebody_called_from_is_dropped():
    told = {"event": "x", "ip": "192.0.2.1", "user_agent": "phone", "email": "a@example.org"}
    assert without_persons(None, "info", told) == {"event": "x"}


def logged(name, text, *args, exc_info=None):
    """The line that the site's own formatter makes of a library's."""
    formatter = settings.LOGGING["formatters"]["json"]
    made = logging.config.DictConfigurator({"version": 1}).configure_formatter(dict(formatter))
    return json.loads(made.format(logging.LogRecord(name, 20, "f", 1, text, args, exc_info)))


def raised(error, *, cause=None):
    try:
        raise error from cause
    except type(error):
        return sys.exc_info()


def test_a_line_of_any_library_is_json_and_keeps_numbers_only():
    line = logged("lib", "hello %s, %d times", "Ana Sol", 3)
    assert line["event"] == "hello [text], 3 times" and line["level"] == "info"
    assert logged("lib", "Invalid header: 'Ana Sol'.")["event"] == "Invalid header: [text]."
    # A number was wanted where a text is masked: the line without any value.
    assert logged("lib", "%.1f of %s", Decimal(1), "Ben")["event"] == "%.1f of %s"


def test_our_own_lines_and_those_about_processes_keep_their_words():
    assert logged("scoring.x", "%s failed", "run 5")["event"] == "run 5 failed"
    assert (
        logged("gunicorn.error", "Listening at: %s (%s)", "http://127.0.0.1:8000", 7)["event"]
        == "Listening at: http://127.0.0.1:8000 (7)"
    )
    assert logged("django.request", "Not Found: %s", "/weeks/Ana Sol/")["event"] == (
        "Not Found: /weeks/[text]/"
    )


def test_a_worker_tells_which_child_was_killed_and_no_other_words_of_its_pool():
    ended = logged("multiprocessing", "Process %r pid:%r exited with %r", "Pool-2", 7, "signal 9")
    assert ended["event"] == "Process 'Pool-2' pid:7 exited with 'signal 9'"
    raised = logged("multiprocessing", "callback raised %r", ValueError("Ana Sol"))
    assert "Ana" not in raised["event"]


def test_what_a_pool_says_is_a_line_like_any_other():
    """Its logger hands nothing on, so it needs a way out of its own."""
    code = """
import logging.config
from billiard import util
from gymsite.logs import logging_config
logging.config.dictConfig(logging_config(level="INFO"))
util.get_logger()
util.error("Process %r pid:%r exited with %r", "Pool-2", 7, "signal 9", exc_info=0)
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    [line] = told.stderr.splitlines()
    assert json.loads(line)["level"] == "error"


def test_the_journal_is_told_how_grave_a_line_is_and_nobody_else(monkeypatch):
    """It takes ``<3>`` off and keeps it as the line's priority: sd-daemon(3)."""
    line = {"event": "x", "level": "error"}
    monkeypatch.delenv("JOURNAL_STREAM", raising=False)
    assert json.loads(Line()(None, "error", dict(line))) == line
    stream = os.fstat(2)
    monkeypatch.setenv("JOURNAL_STREAM", f"{stream.st_dev}:{stream.st_ino}")
    told = Line()(None, "error", dict(line))
    assert told.startswith("<3>{") and json.loads(told[3:]) == line
    assert Line()(None, "info", {"event": "x"}).startswith("<6>{")
    # One that is only inherited: what is written goes elsewhere.
    monkeypatch.setenv("JOURNAL_STREAM", f"{stream.st_dev}:{stream.st_ino + 1}")
    assert json.loads(Line()(None, "error", dict(line))) == line


def test_celery_says_which_task_failed_and_not_what_it_was_told():
    context = {"name": "scoring.x", "id": "7", "exc": "ValueError('Ana Sol')", "args": "['Ana']"}
    line = logged("celery.app.trace", "Task %(name)s[%(id)s] raised: %(exc)s %(args)s", context)
    assert line["event"] == "Task scoring.x[7] raised: [text] [text]"


def test_an_exception_is_told_by_its_kind_and_place_and_not_by_its_words():
    cause = IntegrityError("Key (email)=(ana.sol@example.org, Ana Sol) already exists.")
    told = logged("scoring.x", "x", exc_info=raised(ValueError("bad name Ana Sol"), cause=cause))
    first, second = told["exception"]
    assert (first["kind"], second["kind"]) == ("ValueError", "IntegrityError")
    assert first["at"][-1].startswith("tests/gymsite/test_logs.py:")
    assert "Ana" not in json.dumps(told) and "example.org" not in json.dumps(told)


def test_what_an_operator_needs_of_an_exception_is_told():
    full = logged("scoring.x", "x", exc_info=raised(OSError(28, "No space left on device", "Ana")))
    assert full["exception"][0]["kind"] == "OSError: No space left on device"
    missing = logged("scoring.x", "x", exc_info=raised(ImportError("no module x")))
    assert missing["exception"][0]["kind"] == "ImportError: no module x"


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("/classes/12/board/", "/classes/12/board/"),
        ("/api/v1/weeks/2026-W48/", "/api/v1/weeks/2026-W48/"),
        ("/join/s3cret/", "/join/[token]/"),
        ("/Ana Sol/", "/[text]/"),
        ("/x/%41na/?q=Ben", "/x/[text]/"),
        ("/" + "a" * 33, "/[text]"),
    ],
)
def test_an_address_keeps_what_looks_like_our_own_words(path, told):
    assert safe_path(path) == told


def test_a_request_has_an_id_in_its_log_line(client, db, caplog):
    with caplog.at_level("INFO"):
        client.get("/health/live/")
    lines = [r.msg for r in caplog.records if isinstance(r.msg, dict)]
    assert [line["event"] for line in lines] == ["request_started", "request_finished"]
    assert len({line["request_id"] for line in lines}) == 1 and lines[0]["request_id"]
    assert not any("ip" in line for line in lines)
