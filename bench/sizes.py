"""What a result costs in bytes and in work: loads many, and measures.

``python -m bench.sizes`` prints one JSON object; ``DATABASE_URL`` and ``REDIS_URL`` choose on
what. A database of its own is made for it, and gone after it. The figures go into
``docs/operating/measured.json``, from which ``bench.capacity`` reckons.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable
from time import process_time
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "bench.settings")

CLASSES = 500
MEMBERS = 200
NOTE = "Felt strong until the second round of the tide, then the shoulders were done."


def _bytes() -> int:
    """What the database takes on the disk, without its log."""
    from django.db import connection

    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            cursor.execute("SELECT page_count * page_size FROM pragma_page_count, pragma_page_size")
        else:
            cursor.execute("SELECT pg_database_size(current_database())")
        return int(cursor.fetchone()[0])


def _log_position() -> int:
    """Bytes of write-ahead log that PostgreSQL has written so far."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_wal_lsn_diff(pg_current_wal_lsn(), '0/0')")
        return int(cursor.fetchone()[0])


def _people(count: int) -> tuple[Any, Any, list[Any]]:
    from members.models import Gym, Membership, Role, User

    gym = Gym.objects.create(name="Bench Street", slug="bench")
    users = User.objects.bulk_create(User(email=f"m{n:06d}@example.org") for n in range(count + 1))
    coach, *members = Membership.objects.bulk_create(
        Membership(
            gym=gym,
            user=user,
            display_name=f"Member {number:06d}",
            role=Role.COACH if number == 0 else Role.MEMBER,
        )
        for number, user in enumerate(users)
    )
    return gym, coach, members


def _fill(gym: Any, coach: Any, members: list[Any], count: int) -> None:
    """So many classes with a result of each member, as a program would send them: every one
    with two splits, an effort and a key, every fifth with a note."""
    from django.db import transaction
    from django.utils import timezone

    from bench.workload import WORKOUT, marks
    from scoring.mapping import course_of, rules_of
    from scoring.models import Submission
    from scoring.services.classes import create_class, open_class
    from scoring.services.reading import ResultInput, read_result, texts_of
    from scoring.services.writing import next_board_version
    from scoring.services.writing_many import NewFact, add_facts

    now = timezone.now()
    known: dict[Any, Any] = {}
    for number in range(count):
        made = create_class(gym=gym, coach=coach, starts_at=now, text=WORKOUT)
        streamed = open_class(streamed_class=made, by=coach, now=now)
        new = []
        for place, (member, (mark, options)) in enumerate(
            zip(members, marks(len(members)), strict=True)
        ):
            if (mark, options) not in known:
                data = ResultInput(
                    mark=mark, options=options, splits={"1": "4:10", "2": "9:45"}, effort=7
                )
                course = course_of(streamed)
                read, scored = read_result(course, rules_of(streamed), data)
                known[mark, options] = texts_of(course, read, data), scored
            texts, scored = known[mark, options]
            note = NOTE if place % 5 == number % 5 else ""
            new.append(NewFact(member.pk, None, texts, note, 7, scored))
        with transaction.atomic():
            next_board_version(streamed, only_open=True)
            facts = add_facts(
                streamed_class=streamed, new=new, entered_by=coach, reason="", now=now
            )
            Submission.objects.bulk_create(
                Submission(
                    streamed_class=streamed,
                    member=member,
                    key=f"{number:016x}{member.pk:016x}",
                    digest="0" * 64,
                    fact=fact,
                    is_new_result=True,
                    created_at=now,
                )
                for member, fact in zip(members, facts, strict=True)
            )


def _cpu(work: Callable[[int], None], count: int) -> float:
    """Seconds of this process's own work for each call but the first, which warms up."""
    work(0)
    began = process_time()
    for number in range(1, count):
        work(number)
    return (process_time() - began) / (count - 1)


def _requests(gym: Any, coach: Any, members: list[Any]) -> dict[str, float]:
    """Work of a web process for a request, by the whole stack but for the server's own."""
    from django.test import Client
    from django.utils import timezone

    from bench.workload import WORKOUT, marks
    from members.models import Membership
    from scoring.services.classes import create_class, open_class

    now = timezone.now()
    made = create_class(gym=gym, coach=coach, starts_at=now, text=WORKOUT)
    streamed = open_class(streamed_class=made, by=coach, now=now)
    clients = []
    for member in Membership.objects.filter(
        pk__in=[member.pk for member in members]
    ).select_related("user"):
        client = Client(headers={"Host": "localhost"})
        client.force_login(member.user)
        client.get("/health/live/")  # each has a stack of its own, which is put together now
        clients.append(client)
    sent = marks(len(clients))
    tags: dict[int, str] = {}
    where: dict[int, str] = {}
    log, rows = f"/classes/{streamed.pk}/log/", f"/classes/{streamed.pk}/board/rows/"

    def submit(number: int) -> None:
        mark, options = sent[number]
        answer = clients[number].post(log, {"mark": mark, "options": options, "key": f"k{number}"})
        assert answer.status_code == 302, answer.status_code
        where[number] = answer["Location"]

    def opened(number: int) -> None:
        assert clients[number].get(where[number]).status_code == 200

    def changed(number: int) -> None:
        answer = clients[number].get(rows)
        assert answer.status_code == 200
        tags[number] = answer["ETag"]

    def unchanged(number: int) -> None:
        answer = clients[number].get(rows, headers={"If-None-Match": tags[number]})
        assert answer.status_code == 304

    told = {"cpu_submit": _cpu(submit, len(clients))}
    told["cpu_opened"] = _cpu(opened, len(clients))
    told["cpu_board"] = _cpu(changed, len(clients))
    told["cpu_board_unchanged"] = _cpu(unchanged, len(clients))
    return told


def _redis(gym: Any, coach: Any, class_id: int) -> float:
    """Bytes that Redis takes for an entry of a board."""
    import redis
    from django.conf import settings

    from scoring import boards
    from scoring.boards.base import VIEWS
    from scoring.models import StreamedClass

    streamed = StreamedClass.objects.get(pk=class_id)
    total = boards.store().standings(streamed, [], "all").total
    client = redis.Redis.from_url(settings.REDIS_URL)
    base = f"{settings.REDIS_PREFIX}:board:{{{class_id}}}:"
    names = [base + name for name in ("version", "members", *VIEWS)]
    taken = sum(client.memory_usage(name, samples=0) or 0 for name in names)
    client.close()
    return taken / total


def measure() -> dict[str, float | str]:
    """All of it, on the database that is set up."""
    from django.conf import settings
    from django.db import connection

    gym, coach, members = _people(MEMBERS)
    before = _bytes()
    _fill(gym, coach, members, CLASSES)
    told: dict[str, float | str] = {
        "database": connection.vendor,
        "bytes_result": round((_bytes() - before) / (CLASSES * MEMBERS)),
    }
    logged = _log_position() if connection.vendor == "postgresql" else 0
    told |= {name: round(value, 5) for name, value in _requests(gym, coach, members).items()}
    if connection.vendor == "postgresql":
        told["wal_result"] = round((_log_position() - logged) / MEMBERS)
    if settings.REDIS_URL:
        from scoring.models import StreamedClass

        told["bytes_board_entry"] = round(_redis(gym, coach, StreamedClass.objects.latest("pk").pk))
    return told


def main() -> int:
    from bench.place import database

    with database():
        print(json.dumps(measure(), indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
