"""Questions of those who have gone cost nothing; what they sent to be kept is kept."""

import socket

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from gymsite.abandoned import AbandonedMiddleware, has_gone


@pytest.fixture
def line():
    asker, server = socket.socketpair()
    yield asker, server
    asker.close()
    server.close()


def answer(server, method="GET", path="/"):
    """What the site behind it said, and the status that came of it."""
    said = []
    asked = RequestFactory().generic(method, path, **{"gunicorn.socket": server})
    middleware = AbandonedMiddleware(lambda _: said.append("answered") or HttpResponse("here"))
    return said, middleware(asked).status_code


def test_who_waits_is_answered(line):
    assert answer(line[1]) == (["answered"], 200)


@pytest.mark.parametrize("timeout", [None, 0.0, 5.0])
def test_who_has_gone_is_not_and_nobody_waits_to_find_out(line, timeout):
    asker, server = line
    server.settimeout(timeout)
    assert not has_gone(server)
    asker.close()
    assert answer(server) == ([], 499) and answer(server, "HEAD") == ([], 499)


def test_who_asks_the_next_thing_already_is_there_and_their_words_stay_unread(line):
    asker, server = line
    asker.sendall(b"GET /next/")
    assert answer(server) == (["answered"], 200)
    assert server.recv(100) == b"GET /next/"


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_what_was_sent_is_taken_though_nobody_waits(line, method):
    asker, server = line
    asker.close()
    assert answer(server, method) == (["answered"], 200)


def test_a_socket_that_is_closed_here_has_nobody_behind_it(line):
    line[1].close()
    assert has_gone(line[1])


def test_a_check_of_health_and_a_server_without_a_socket_are_always_answered(line):
    asker, server = line
    asker.close()
    assert answer(server, path="/health/live/") == (["answered"], 200)
    assert answer(None) == (["answered"], 200)
