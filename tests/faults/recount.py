"""Whether a database tells one story: facts, scores and boards, counted again."""

from __future__ import annotations

from collections import Counter
from typing import Any

from scoring.models import Fact, Result, StreamedClass, Submission
from scoring.services.recompute import differences
from scoring.verifying import findings


def faults() -> list[str]:
    """All that is wrong, empty if nothing is."""
    found = [f"{one.check}: {one.subject}: {one.detail}" for one in findings()]
    for streamed in StreamedClass.objects.select_related("workout", "credit_table"):
        found += [str(row) for row in differences(streamed_class=streamed)]
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
