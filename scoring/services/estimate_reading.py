"""A gym's results as a fit takes them, and a fingerprint of exactly what was read."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q

from members.models import Gym, Membership, ShownAs
from scoring.core.course import Course
from scoring.core.credits import Choice, CreditTable, parse_choices
from scoring.core.estimation.gather import Gathered, Gathering, Held
from scoring.core.marks import Mark, parse_mark
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import parse_splits
from scoring.mapping import course
from scoring.models import CreditTableVersion, Result, State, StreamedClass

Fact = tuple[int, int, int, str, str, str]
"""Keys of a result, its member and its fact; mark, options and splits as texts."""


@dataclass(frozen=True, slots=True)
class Read:
    """What was read: ``unreadable`` results are texts that this program can't read any more.
    ``until`` is the start of the last class counted."""

    fingerprint: str
    gathered: Gathered
    unreadable: int
    until: datetime | None


def classes_of(gym: Gym) -> list[StreamedClass]:
    """A gym's classes with a result that counts, by key."""
    counted = Result.objects.filter(streamed_class=OuterRef("pk"), current__is_withdrawn=False)
    return list(
        StreamedClass.objects.filter(Exists(counted), gym=gym)
        .exclude(state=State.DRAFT)
        .select_related("workout")
        .order_by("pk")
    )


def facts_of(streamed_class: StreamedClass) -> list[Fact]:
    """The facts of a class that count, by result."""
    return list(
        Result.objects.filter(streamed_class=streamed_class, current__is_withdrawn=False)
        .order_by("pk")
        .values_list(
            "pk", "member_id", "current_id",
            "current__mark", "current__options", "current__splits",
        )
    )  # fmt: skip


def table_of(gym: Gym) -> CreditTable:
    """The gym's credits of today; the usual figures where it has none yet."""
    newest = CreditTableVersion.objects.filter(gym=gym).order_by("-version").first()
    return CreditTable() if newest is None else CreditTable.from_dict(newest.rules)


class Print:
    """A SHA-256 over all that a fit depends on, whatever order a database gives it in: it is
    told classes and results by their keys."""

    def __init__(self, gym: Gym, table: CreditTable) -> None:
        self._hash = hashlib.sha256()
        self._add([gym.timezone, table.to_dict()])

    def _add(self, value: object) -> None:
        self._hash.update(json.dumps(value, sort_keys=True, ensure_ascii=True).encode() + b"\n")

    def tell(self, streamed_class: StreamedClass, facts: list[Fact]) -> None:
        """Add a class with its facts."""
        starts_at = streamed_class.starts_at.isoformat()
        self._add([streamed_class.pk, starts_at, streamed_class.workout.text, facts])

    @property
    def text(self) -> str:
        return self._hash.hexdigest()


def fingerprint(*, gym: Gym) -> str:
    """The fingerprint alone: much quicker than reading what the facts mean."""
    found = Print(gym, table_of(gym))
    for streamed_class in classes_of(gym):
        found.tell(streamed_class, facts_of(streamed_class))
    return found.text


def read(*, gym: Gym, told: Callable[[int, int], None]) -> Read:
    """Read all results of a gym. ``told`` is called with how many classes of how many are
    read, before the first and after each."""
    table, zone = table_of(gym), ZoneInfo(gym.timezone)
    found, gathering, unreadable = Print(gym, table), Gathering(table), 0
    classes = classes_of(gym)
    told(0, len(classes))
    for number, streamed_class in enumerate(classes, start=1):
        facts = facts_of(streamed_class)
        found.tell(streamed_class, facts)
        on = course(streamed_class.workout.text, True)
        results = list(_results(on, facts))
        unreadable += len(facts) - len(results)
        day = float(streamed_class.starts_at.astimezone(zone).date().toordinal())
        gathering.add(Held(streamed_class.pk, on, day, results))
        told(number, len(classes))
    gathered = gathering.done()
    starts = {row.pk: row.starts_at for row in classes}
    return Read(
        fingerprint=found.text,
        gathered=gathered,
        unreadable=unreadable,
        until=max((starts[key] for key in gathered.classes.tolist()), default=None),
    )


def _results(on: Course, facts: list[Fact]) -> Iterator[tuple[int, int, CoreResult]]:
    """Facts as the core's results; what can't be read any more is left out."""
    marks: dict[str, Mark] = {}
    choices: dict[str, tuple[Choice, ...]] = {"": ()}
    for result, member, _, mark, options, splits in facts:
        try:
            if mark not in marks:
                marks[mark] = parse_mark(on, mark)
            if options not in choices:
                choices[options] = parse_choices(on, options)
            passed = parse_splits(on, splits) if splits else {}
        except ValueError:
            continue
        yield result, member, CoreResult(marks[mark], choices[options], passed)


def somebody_in(gym: Gym) -> set[int]:
    """Keys of a gym's members who are not erased: an erased one is gone, or somebody without
    account or name who has left."""
    nobody = Q(user=None, left_at__isnull=False, shown_as=ShownAs.UNNAMED)
    members = Membership.objects.filter(gym=gym).exclude(nobody)
    return set(members.values_list("pk", flat=True))
