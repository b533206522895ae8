"""Whether a database tells one story: facts, scores and boards, counted again."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.core.management import call_command, get_commands
from django.db import connection

from scoring import boards
from scoring.boards import VIEWS, DatabaseBoards
from scoring.models import Fact, Result, Score, StreamedClass, Submission
from scoring.services.recompute import differences


def faults() -> list[str]:
    """All that is wrong, empty if nothing is."""
    found = [f"class {pk}: {row}" for pk in _classes() for row in _of_class(pk)]
    for result in Result.objects.prefetch_related("facts"):
        numbers = sorted(fact.number for fact in result.facts.all())
        if numbers != list(range(1, len(numbers) + 1)):
            found.append(f"result {result.pk}: its facts are numbered {numbers}")
        latest = max(result.facts.all(), key=lambda fact: fact.number, default=None)
        if latest is None or result.current_id != latest.pk:
            found.append(f"result {result.pk}: its newest fact is not the one that counts")
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            if (said := [row[0] for row in cursor.fetchall()]) != ["ok"]:
                found += said
    if "verify" in get_commands():
        call_command("verify")
    return found


def _classes() -> list[int]:
    return list(StreamedClass.objects.order_by("pk").values_list("pk", flat=True))


def _of_class(pk: int) -> list[str]:
    streamed = StreamedClass.objects.select_related("workout", "credit_table").get(pk=pk)
    found = [f"{row} is not what its fact says" for row in differences(streamed_class=streamed)]
    standing = Result.objects.filter(streamed_class=streamed, current__is_withdrawn=False).count()
    if Score.objects.filter(streamed_class=streamed).count() != standing:
        found.append("not each result that stands has a score")
    pairs = set(Score.objects.filter(streamed_class=streamed).values_list("key", "tie_key"))
    for view in VIEWS:
        kept = boards.store().standings(streamed, pairs, view)
        if kept != DatabaseBoards().standings(streamed, pairs, view):
            found.append(f"the board store's {view} is not what the rows say")
    return found


def told(class_id: int) -> dict[str, Any]:
    """What was kept of a class, how often under each key, and what is wrong anywhere."""
    keys = Submission.objects.filter(streamed_class=class_id)
    facts = Fact.objects.filter(result__streamed_class=class_id)
    return {
        "results": Result.objects.filter(streamed_class=class_id).count(),
        "facts": facts.count(),
        "keys": Counter(keys.values_list("key", flat=True)),
        "marks": dict(keys.values_list("key", "fact__mark")),
        "faults": faults(),
    }
