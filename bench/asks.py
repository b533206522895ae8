"""The requests of the bench, each checked for the answer it should get."""

from __future__ import annotations

import http.client
import json
from collections.abc import Sequence
from urllib.parse import urlencode

from bench.client import Ask

TOKEN = "b" * 32
"""Sent as cookie and field, as a browser would."""


def get(path: str, cookies: Sequence[str], *, tags: Sequence[str] = ()) -> Ask:
    """A page of a board's size as the member of the number, or 304 where their tags are sent."""

    def ask(connection: http.client.HTTPConnection, number: int) -> None:
        headers = {"Cookie": cookies[number % len(cookies)]}
        if tags:
            headers["If-None-Match"] = tags[number % len(tags)]
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        body = answer.read()
        _expect(path, answer.status, {304} if tags else {200})
        assert tags or len(body) > 5000, f"{path}: only {len(body)} bytes"

    return ask


def tags(port: int, path: str, cookies: Sequence[str]) -> list[str]:
    """The entity tag of an address for each member."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    found = []
    try:
        for cookie in cookies:
            connection.request("GET", path, headers={"Cookie": cookie})
            answer = connection.getresponse()
            answer.read()
            found.append(str(answer.headers["ETag"]))
    finally:
        connection.close()
    return found


def logged(number: int) -> dict[str, str]:
    """A result of this number as the form sends it: a mark and one option."""
    return {"key": f"k{number}", "mark": f"{number * 7 % 9}+{number * 5 % 24}", "opt-1": "0"}


def form(path: str, cookies: Sequence[str]) -> Ask:
    """Posts a form as the member of the number."""

    def ask(connection: http.client.HTTPConnection, number: int) -> None:
        body = urlencode({**logged(number), "csrfmiddlewaretoken": TOKEN})
        headers = {
            "Cookie": f"{cookies[number % len(cookies)]}; csrftoken={TOKEN}",
            "Content-Type": "application/x-www-form-urlencoded",
        }
        _post(connection, path, body, headers)

    return ask


def program(path: str, cookies: Sequence[str]) -> Ask:
    """Posts the same result as JSON as the member of the number."""

    def ask(connection: http.client.HTTPConnection, number: int) -> None:
        body = json.dumps({"mark": logged(number)["mark"], "options": "tuck rock"})
        headers = {
            "Cookie": f"{cookies[number % len(cookies)]}; csrftoken={TOKEN}",
            "X-CSRFToken": TOKEN,
            "Content-Type": "application/json",
            "Idempotency-Key": f"p{number}",
        }
        _post(connection, path, body, headers)

    return ask


def _post(
    connection: http.client.HTTPConnection, path: str, body: str, headers: dict[str, str]
) -> None:
    connection.request("POST", path, body, headers)
    answer = connection.getresponse()
    answer.read()
    _expect(path, answer.status, {201, 302})


def _expect(path: str, status: int, expected: set[int]) -> None:
    assert status in expected, f"{path}: {status}"
