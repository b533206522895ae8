"""Outages are told as what they are; a mistake of ours is never called one."""

import json
import sqlite3

import psycopg
import pytest
from django.db import (
    DataError,
    IntegrityError,
    InterfaceError,
    OperationalError,
    ProgrammingError,
    connection,
)
from django.test import RequestFactory
from kombu.exceptions import OperationalError as BrokerError
from psycopg_pool import PoolTimeout
from redis.exceptions import ConnectionError as RedisGone
from redis.exceptions import TimeoutError as RedisSilent
from rest_framework.test import APIRequestFactory
from rest_framework.views import APIView

from gymsite import errors
from gymsite.outages import AWAY, FULL, outage_of


def raised_from(error, cause):
    """An error as Django wraps what the database's own library raised."""
    try:
        raise error from cause
    except Exception as wrapped:
        return wrapped


def sqlite_error(name):
    cause = sqlite3.OperationalError("the words are not looked at")
    cause.sqlite_errorname = name
    return raised_from(OperationalError("x"), cause)


def postgres_error(state, kind=OperationalError):
    cause = psycopg.errors.lookup(state)("x")
    return raised_from(kind("x"), cause)


# Names: https://www.sqlite.org/rescode.html
@pytest.mark.parametrize(
    ("name", "outage"),
    [
        ("SQLITE_BUSY", AWAY),
        ("SQLITE_BUSY_SNAPSHOT", AWAY),
        ("SQLITE_CANTOPEN", AWAY),
        ("SQLITE_FULL", FULL),
        ("SQLITE_READONLY", FULL),
        ("SQLITE_IOERR_WRITE", FULL),
        ("SQLITE_IOERR_READ", None),
        ("SQLITE_ERROR", None),  # no such table
        ("SQLITE_CORRUPT", None),
    ],
)
def test_what_sqlite_says(name, outage):
    assert outage_of(sqlite_error(name)) is outage


# States: PostgreSQL's documentation, Appendix A.
@pytest.mark.parametrize(
    ("state", "outage"),
    [
        ("57P01", AWAY),  # admin_shutdown
        ("57P02", AWAY),  # crash_shutdown
        ("57P03", AWAY),  # cannot_connect_now
        ("08006", AWAY),  # connection_failure
        ("40P01", AWAY),  # deadlock_detected
        ("53300", AWAY),  # too_many_connections
        ("55P03", AWAY),  # lock_not_available
        ("53100", FULL),  # disk_full
        ("57014", None),  # query_canceled: a query that is too slow is ours
    ],
)
def test_what_postgresql_says(state, outage):
    assert outage_of(postgres_error(state)) is outage


def test_what_is_said_without_a_code():
    broken = psycopg.OperationalError("server closed the connection unexpectedly")
    assert outage_of(raised_from(OperationalError("x"), broken)) is AWAY
    assert outage_of(raised_from(InterfaceError("x"), psycopg.InterfaceError("x"))) is AWAY
    assert outage_of(raised_from(OperationalError("x"), PoolTimeout("x"))) is AWAY
    for gone in (RedisGone("x"), RedisSilent("x"), BrokerError("x")):
        assert outage_of(gone) is AWAY
        assert outage_of(raised_from(RuntimeError("x"), gone)) is AWAY


@pytest.mark.parametrize(
    "mistake",
    [
        None,
        RuntimeError("x"),
        OperationalError("of nobody"),
        IntegrityError("x"),
        ProgrammingError("x"),
        DataError("x"),
    ],
)
def test_a_mistake_of_ours_is_no_outage(mistake):
    assert outage_of(mistake) is None


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own limit of pages")
def test_a_database_without_room_really_says_so():
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA page_count")
        cursor.execute(f"PRAGMA max_page_count = {cursor.fetchone()[0]}")
        try:
            with pytest.raises(OperationalError) as caught:
                cursor.execute("create table much as select randomblob(1000000) as it")
        finally:
            cursor.execute("PRAGMA max_page_count = 1073741823")
    assert outage_of(caught.value) is FULL


def answer_of_the_api(error):
    class View(APIView):
        permission_classes = ()
        throttle_classes = ()

        def get(self, request):
            raise error

    response = View.as_view()(APIRequestFactory().get("/api/v1/x/"))
    response.render()
    return response, json.loads(response.content)


@pytest.mark.parametrize(
    ("error", "status", "after"),
    [(sqlite_error("SQLITE_BUSY"), 503, "5"), (sqlite_error("SQLITE_FULL"), 507, None)],
)
def test_the_api_says_what_happened_what_was_saved_and_what_to_do(error, status, after):
    response, told = answer_of_the_api(error)
    assert response.status_code == told["status"] == status
    assert response["Content-Type"] == errors.MEDIA_TYPE
    assert response.headers.get("Retry-After") == after
    assert "saved" in told["detail"] and (
        "try again" in told["detail"] or "send it" in told["detail"]
    )


@pytest.mark.parametrize("path", ["/classes/1/", "/api/v1/x/"])
def test_a_fault_before_any_view_is_told_the_same(path):
    """As of the middleware that looks for the session."""
    try:
        raise sqlite_error("SQLITE_CANTOPEN")
    except OperationalError:
        answer = errors.server_error(RequestFactory().get(path))
    assert answer.status_code == 503 and answer["Retry-After"] == "5"
    assert "try again" in answer.content.decode()
    assert (answer["Content-Type"] == errors.MEDIA_TYPE) is path.startswith("/api/")
