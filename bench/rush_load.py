"""The rush itself, in a process of its own: sends what is planned when it is planned.

Reads what to do as JSON on standard input and writes what came of it to standard output. Each
request has a connection of its own, as of phones that come back later than a server keeps one.
Nobody waits for anybody else: if the server is slow, more wait for it.
"""

from __future__ import annotations

import asyncio
import json
import re
import sys
from dataclasses import asdict, dataclass, field
from resource import RLIMIT_NOFILE, RUSAGE_SELF, getrlimit, getrusage, setrlimit
from time import perf_counter
from typing import Any
from urllib.parse import urlencode

from bench.asks import TOKEN
from bench.rush_plan import Step, mark, plan

PATIENCE = 60.0
READS = ("rows", "page", "board", "result")


@dataclass(slots=True)
class Told:
    """``taken`` are the seconds of each answer by deed, ``acknowledged`` the keys that were
    answered as kept, by member."""

    taken: dict[str, list[float]] = field(default_factory=dict)
    statuses: dict[str, dict[str, int]] = field(default_factory=dict)
    errors: dict[str, int] = field(default_factory=dict)
    acknowledged: dict[int, list[str]] = field(default_factory=dict)
    asked_first: int = 0
    lateness: float = 0.0
    seconds: float = 0.0
    cpu: float = 0.0


@dataclass(frozen=True, slots=True)
class Answer:
    status: int
    headers: dict[str, str]
    body: str


class Rush:
    def __init__(self, told: dict[str, Any]) -> None:
        self.port: int = told["port"]
        self.opens: bool = told["open"]
        self.paths: dict[str, str] = told["paths"]
        self.cookies: list[str] = told["cookies"]
        self.coach: str = told["coach"]
        self.keys: list[int] = told["keys"]
        self.tags: dict[tuple[str, int], str] = {}
        self.results: dict[int, str] = {}
        self.told = Told()
        self.start = 0.0

    async def run(self, steps: list[Step]) -> Told:
        self.start = perf_counter()
        tasks = set()
        for step in steps:
            wait = step.at - (perf_counter() - self.start)
            if wait > 0:
                await asyncio.sleep(wait)
            else:
                self.told.lateness = max(self.told.lateness, -wait)
            task = asyncio.create_task(self.do(step))
            tasks.add(task)
            task.add_done_callback(tasks.discard)
        while tasks:
            await asyncio.wait(tasks)
        self.told.seconds = perf_counter() - self.start
        usage = getrusage(RUSAGE_SELF)
        self.told.cpu = usage.ru_utime + usage.ru_stime
        return self.told

    async def do(self, step: Step) -> None:
        try:
            async with asyncio.timeout(PATIENCE):
                answer = await (self.read(step) if step.deed in READS else self.write(step))
        except (OSError, TimeoutError, ValueError, IndexError) as fault:
            self.count_error(f"{step.deed}: {type(fault).__name__}")
            return
        # From when it was due: a server that holds up everybody must not look quick.
        now = perf_counter() - self.start
        self.count(step.deed, answer.status, now - step.at)
        if self.opens and step.deed == "form" and "location" in answer.headers:
            # A browser goes where it is sent: to the result opened up.
            self.results[step.member] = answer.headers["location"]
            await self.do(Step(now, "result", step.member))

    def count(self, deed: str, status: int, taken: float) -> None:
        self.told.taken.setdefault(deed, []).append(taken)
        by_status = self.told.statuses.setdefault(deed, {})
        by_status[str(status)] = by_status.get(str(status), 0) + 1
        if status >= 400:
            self.count_error(f"{deed}: {status}")

    def count_error(self, what: str) -> None:
        self.told.errors[what] = self.told.errors.get(what, 0) + 1

    async def read(self, step: Step) -> Answer:
        of = (step.deed, step.member)
        headers = {"Cookie": self.cookies[step.member]}
        if tag := self.tags.get(of):
            headers["If-None-Match"] = tag
        path = self.results[step.member] if step.deed == "result" else self.paths[step.deed]
        answer = await self.send("GET", path, headers)
        if step.deed in ("rows", "board") and "etag" in answer.headers:
            self.tags[of] = answer.headers["etag"]
        return answer

    async def write(self, step: Step) -> Answer:
        key = f"rush-{step.member}"
        done, option = mark(step.member)
        cookie = f"{self.cookies[step.member]}; csrftoken={TOKEN}"
        if step.deed == "form":
            answer = await self.form(
                step, {"key": key, "mark": done} | ({"opt-1": "0"} if option else {})
            )
            is_kept = answer.status == 302
        else:
            sent: dict[str, object] = {"mark": done, "options": option}
            if step.deed == "correct":
                cookie = f"{self.coach}; csrftoken={TOKEN}"
                key = f"correct-{step.member}"
                sent = {"mark": "1+0", "member": self.keys[step.member], "reason": "miscounted"}
            headers = {
                "Cookie": cookie, "X-CSRFToken": TOKEN, "Content-Type": "application/json",
                "Idempotency-Key": key,
            }  # fmt: skip
            answer = await self.send("POST", self.paths["program"], headers, json.dumps(sent))
            is_kept = answer.status in (200, 201)
        if is_kept:
            kept = self.told.acknowledged.setdefault(step.member, [])
            if key not in kept:
                kept.append(key)
        elif answer.status < 400:
            self.count_error(f"{step.deed}: not kept")
        return answer

    async def form(self, step: Step, fields: dict[str, str]) -> Answer:
        """The form; where the page asks whether an odd mark is right, it is said to be."""
        headers = {
            "Cookie": f"{self.cookies[step.member]}; csrftoken={TOKEN}",
            "Content-Type": "application/x-www-form-urlencoded",
        }
        fields = fields | {"csrfmiddlewaretoken": TOKEN}
        answer = await self.send("POST", self.paths["form"], headers, urlencode(fields))
        sure = re.search(r'name="sure" value="([0-9a-f]+)"', answer.body)
        if answer.status == 200 and sure:
            self.told.asked_first += 1
            again = urlencode(fields | {"sure": sure[1]})
            answer = await self.send("POST", self.paths["form"], headers, again)
        return answer

    async def send(self, method: str, path: str, headers: dict[str, str], body: str = "") -> Answer:
        """Raises ``OSError`` or ``ValueError`` where no whole answer comes."""
        reader, writer = await asyncio.open_connection("127.0.0.1", self.port)
        try:
            data = body.encode()
            lines = [f"{method} {path} HTTP/1.1", "Host: 127.0.0.1", "Connection: close"]
            lines += [f"{name}: {value}" for name, value in headers.items()]
            lines += [f"Content-Length: {len(data)}"] if method == "POST" else []
            writer.write("\r\n".join([*lines, "", ""]).encode() + data)
            await writer.drain()
            head, _, text = (await reader.read(-1)).partition(b"\r\n\r\n")
        finally:
            writer.close()
        first, *rest = head.decode("latin-1").split("\r\n")
        pairs = (line.partition(": ") for line in rest)
        return Answer(
            int(first.split()[1]), {name.lower(): value for name, _, value in pairs},
            text.decode("utf-8", "replace"),
        )  # fmt: skip


def main() -> None:
    told = json.load(sys.stdin)
    setrlimit(RLIMIT_NOFILE, (getrlimit(RLIMIT_NOFILE)[1],) * 2)
    steps = plan(members=told["members"], reads=told["reads"], seconds=told["seconds"])
    done = asyncio.run(Rush(told).run(steps))
    json.dump(asdict(done), sys.stdout)


if __name__ == "__main__":
    main()
