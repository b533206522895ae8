"""What must be true after a rush: nothing lost, nothing doubled, every rank right."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator
from dataclasses import dataclass
from time import monotonic, sleep
from typing import Any

from bench.rush_plan import mark
from bench.rush_scene import Scene

PATIENCE = 300.0
"""Seconds: a server that was overrun still has to answer those who no longer wait."""

QUIET = 3.0
"""Seconds without a new result after which none is under way."""

PAGE = 200


@dataclass(frozen=True, slots=True)
class Claim:
    """``wrong`` tells what is against it; empty if it holds."""

    what: str
    wrong: str = ""


def claims(scene: Scene, told: dict[str, Any], port: int) -> Iterator[Claim]:
    """Each claim, held against the database and what the server answers now."""
    from django.conf import settings

    from scoring.verifying import findings

    kept = {int(member): keys for member, keys in told["acknowledged"].items()}
    _settle(scene)
    yield Claim("background work and outbox are drained", _drained())
    yield Claim("every acknowledged result is kept once, as it was sent", _kept(scene, kept))
    yield Claim("nobody has two results, no result a fact that nobody sent", _doubled(scene, kept))
    sleep(settings.BOARD_SECONDS)  # for so long an open class's order may be that of before
    yield Claim("the board's ranks are those counted in plain SQL", _ranks(scene, port))
    found = [f"{f.check}: {f.subject}: {f.detail}" for f in findings()]
    yield Claim("manage.py verify finds nothing", "; ".join(found[:5]))


def _kept(scene: Scene, kept: dict[int, list[str]]) -> str:
    from scoring.models import Score, Submission

    of_key = {
        (member, key): (done, is_withdrawn)
        for member, key, done, is_withdrawn in Submission.objects.filter(
            streamed_class=scene.streamed
        ).values_list("member", "key", "fact__mark", "fact__is_withdrawn")
    }
    on_board = Score.objects.filter(streamed_class=scene.streamed)
    scored = set(on_board.values_list("result__member", flat=True))
    wrong = []
    for number, keys in kept.items():
        member = scene.keys[number]
        for key in keys:
            sent = "1+0" if key.startswith("correct-") else mark(number)[0]
            if of_key.get((member, key)) != (sent, False):
                wrong.append(f"{key} is {of_key.get((member, key))}, and {sent} was sent")
        if member not in scored:
            wrong.append(f"member {number} is not on the board")
    return "; ".join(wrong[:5])


def _doubled(scene: Scene, kept: dict[int, list[str]]) -> str:
    from django.db.models import Count

    from scoring.models import Result, Submission

    rows = Result.objects.filter(streamed_class=scene.streamed).annotate(n=Count("facts"))
    facts: dict[int, list[int]] = {}
    for member, count in rows.values_list("member", "n"):
        facts.setdefault(member, []).append(count)
    keys = Submission.objects.filter(streamed_class=scene.streamed).values_list("member")
    sent = dict(keys.annotate(n=Count("fact", distinct=True)))
    wrong = [
        f"member {member} has results with {counts} facts, sent {sent.get(member, 0)}"
        for member, counts in facts.items()
        if counts != [sent.get(member, 0)]
    ]
    return "; ".join(wrong[:5])


def _ranks(scene: Scene, port: int) -> str:
    from scoring.verifying.recount import recount

    for view in ("all", "prescribed", "scaled"):
        counted = {entry.result_id: entry.rank for entry in recount(scene.streamed.pk, view)}
        try:
            told = dict(_board(scene, port, view))
        except (OSError, http.client.HTTPException) as fault:
            return f"the server did not tell them: {type(fault).__name__}"
        if told != counted:
            wrong = [key for key in counted.keys() | told if told.get(key) != counted.get(key)]
            return f"{view}: {len(wrong)} of {len(counted)} are not, such as result {wrong[0]}"
    return ""


def _board(scene: Scene, port: int, view: str) -> Iterator[tuple[int, int]]:
    """Each result's rank as the API tells it, page after page."""
    from django.urls import reverse

    path = reverse("api-board", args=[scene.streamed.pk])
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    offset, total = 0, 1
    while offset < total:
        asked = f"{path}?view={view}&limit={PAGE}&offset={offset}"
        connection.request("GET", asked, headers={"Cookie": scene.coach, "Connection": "close"})
        answer = connection.getresponse()
        told = json.loads(answer.read())
        connection.close()
        assert answer.status == 200, told
        yield from ((row["result"], row["rank"]) for row in told["rows"])
        offset, total = offset + PAGE, told["total"]


def _settle(scene: Scene) -> None:
    """A server that was overrun goes on with what nobody waits for any more: until nothing has
    come in for a while."""
    from scoring.models import Submission

    until = monotonic() + PATIENCE
    sent = Submission.objects.filter(streamed_class=scene.streamed)
    before, now = -1, sent.count()
    while before != now and monotonic() < until:
        sleep(QUIET)
        before, now = now, sent.count()


def _drained() -> str:
    """Wait until nothing is left to do; told what is if it takes too long."""
    until = monotonic() + PATIENCE
    while left := _left():
        if monotonic() > until:
            return left
        sleep(0.5)
    return ""


def _left() -> str:
    from django.conf import settings
    from django.utils import timezone

    from scoring.models import Message
    from scoring.selectors.messages import waiting_messages

    left = {
        "messages wait": waiting_messages(now=timezone.now()).count(),
        "messages are being sent": Message.objects.filter(state=Message.State.SENDING).count(),
    }
    if not settings.CELERY_TASK_ALWAYS_EAGER:
        import redis

        prefix = settings.REDIS_PREFIX
        with redis.Redis.from_url(settings.CELERY_BROKER_URL) as client:
            left["tasks wait"] = int(client.llen(f"{prefix}:celery"))  # type: ignore[arg-type]
            left["tasks run"] = int(client.hlen(f"{prefix}:unacked"))  # type: ignore[arg-type]
    return ", ".join(f"{count} {what}" for what, count in left.items() if count)
