"""Programs that log results and read boards, and what they were answered."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from threading import Thread
from time import monotonic, sleep
from typing import Any

GIVE_UP = 60.0
"""Seconds after which a client that gets no answer fails the test."""


@dataclass(frozen=True, slots=True)
class Answer:
    """``status`` is 0 where the connection was refused or broke."""

    status: int
    headers: dict[str, str]
    text: str

    def json(self) -> Any:
        return json.loads(self.text)


class Api:
    """One program that asks the site on a port; each call has a connection of its own."""

    def __init__(self, port: int, *, token: str = "", cookie: str = "") -> None:
        self.port, self.token, self.cookie = port, token, cookie

    def ask(self, method: str, path: str, body: str | None = None, **headers: str) -> Answer:
        told = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.token:
            told["Authorization"] = f"Token {self.token}"
        if self.cookie:
            told["Cookie"] = self.cookie
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request(method, path, body, told)
            answer = connection.getresponse()
            text = answer.read().decode()
            found = {name.lower(): value for name, value in answer.getheaders()}
            return Answer(answer.status, found, text)
        except (OSError, http.client.HTTPException) as error:
            return Answer(0, {}, repr(error))
        finally:
            connection.close()

    def get(self, path: str) -> Answer:
        return self.ask("GET", path)

    def post(self, path: str, sent: object, **headers: str) -> Answer:
        told = {"Content_Type": "application/json"} | headers
        return self.ask("POST", path, json.dumps(sent), **told)

    def log(self, class_id: object, mark: str, *, key: str) -> Answer:
        """Log a result once."""
        path = f"/api/v1/classes/{class_id}/results/"
        return self.post(path, {"mark": mark}, Idempotency_Key=key)


@dataclass
class Rush:
    """Clients that log at once and send again under the same key until they are answered.

    ``marks`` are per client: what it logs, in this order. ``kept`` is what was acknowledged, as
    (client, key, mark, number of the fact's result); ``statuses`` all that was ever answered.
    """

    port: int
    class_id: object
    tokens: list[str]
    marks: list[list[str]]
    read_board: bool = False
    kept: list[tuple[int, str, str]] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    faults: list[BaseException] = field(default_factory=list)

    def start(self) -> Rush:
        self._threads = [
            Thread(target=self._client, args=(number,)) for number in range(len(self.tokens))
        ]
        for thread in self._threads:
            thread.start()
        return self

    def finish(self) -> None:
        for thread in self._threads:
            thread.join()
        if self.faults:
            raise self.faults[0]

    def check(self, there: dict[str, Any]) -> None:
        """All of it was kept, once, as it was sent; ``there`` is of recount.py."""
        assert len(self.kept) == sum(len(told) for told in self.marks)
        assert there["keys"] == {key: 1 for _, key, _ in self.kept}
        assert there["marks"] == {key: mark for _, key, mark in self.kept}
        assert there["facts"] == len(self.kept) and there["results"] == len(self.tokens)
        assert there["faults"] == []

    @property
    def statuses(self) -> set[int]:
        return {answer.status for answer in self.answers}

    def _client(self, number: int) -> None:
        try:
            api = Api(self.port, token=self.tokens[number])
            for turn, mark in enumerate(self.marks[number]):
                self._log(api, number, f"{number}-{turn}", mark)
                if self.read_board:
                    self.answers.append(api.get(f"/api/v1/classes/{self.class_id}/board/"))
        except BaseException as fault:
            self.faults.append(fault)

    def _log(self, api: Api, number: int, key: str, mark: str) -> None:
        end = monotonic() + GIVE_UP
        while True:
            answer = api.log(self.class_id, mark, key=key)
            self.answers.append(answer)
            if answer.status in (200, 201):
                self.kept.append((number, key, mark))
                return
            assert monotonic() < end, f"no answer to {key}: {answer}"
            # As a program should: a refusal says when to come back, a broken line does not.
            sleep(min(0.5, float(answer.headers.get("retry-after", 0.1))))


def marks(count: int, *, first: int = 0) -> list[str]:
    """Different marks in the last block of the tests' workout, one after the other."""
    return [f"{number // 24 + 1}+{number % 24}" for number in range(first, first + count)]


def honest(answers: Iterable[Answer]) -> None:
    """Nobody was told of our inside, and who was refused was told what to do."""
    for answer in answers:
        assert answer.status in (0, 200, 201, 503), answer
        assert "Traceback" not in answer.text and "Exception" not in answer.text
        if answer.status == 503:
            told = answer.json()
            assert answer.headers["content-type"] == "application/problem+json"
            assert told["status"] == 503 and "try again" in told["detail"]
            assert int(answer.headers["retry-after"]) > 0
