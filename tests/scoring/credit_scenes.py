"""Boards and changes of credits that tests go by."""

from datetime import timedelta

from scoring.core.ranking import Entry, competition_ranks
from scoring.models import Score
from scoring.services.credit_changes import (
    EntryInput,
    accept,
    go_on,
    propose,
    seen_of,
)

from ..conftest import NOW

ROCKS = """Rocks
amrap 10:00
10 hollow rock
  or tuck rock
"""


BOARD_SAYS = """Rocks, credited
amrap 10:00
10 hollow rock
  or tuck rock, credit 0.8
"""


SQUATS = """Squats
amrap 10:00
10 air squat
"""


MIXED = """Mixed
amrap 10:00
10 goblet squat @ 20 kg
  or air squat
10 hollow rock
  or tuck rock
"""


WAYS = ("tuck rock: 7", "1.1 air squat: 4", "1.1 goblet squat @ 12 kg: 9")
LATER = NOW + timedelta(hours=1)


def ask(people, *entries, scope="all", by=None, reason="tuck rocks are hard", now=NOW):
    given = [EntryInput(*entry) for entry in entries or [("hollow rock", "tuck rock", "0.95")]]
    return propose(
        gym=people.gym, by=by or people.coach, entries=given, reason=reason, scope=scope, now=now
    )


def shown(change):
    go_on(change_id=change.pk, now=NOW)
    change.refresh_from_db()
    assert change.state == "shown"
    return change


def accepted(people, change, now=NOW):
    change = shown(change)
    return accept(change=change, by=people.coach, seen=seen_of(change), now=now)


def done(people, change, now=NOW):
    change = accepted(people, change, now)
    assert go_on(change_id=change.pk, now=now) == "done"
    change.refresh_from_db()
    assert change.state == "done"
    return change


def boards():
    """Everything a board is made of but the stamps of versions."""
    return list(
        Score.objects.order_by("result").values_list(
            "result_id", "fact_id", "raw_reps", "credited", "seconds", "performance", "key",
            "tie_key", "as_prescribed", "adjusted_text", "adjusted_reps", "adjusted_seconds",
        )
    )  # fmt: skip


def ranks_of(streamed):
    rows = list(Score.objects.filter(streamed_class=streamed))
    ranks = competition_ranks([Entry(row.key, row.tie_key, "") for row in rows])
    return {row.result_id: (rank, row.adjusted_text) for row, rank in zip(rows, ranks, strict=True)}
