"""What was brought into classes, line by line, for their coaches."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Q, QuerySet

from members.models import Membership
from members.selectors import members_of
from scoring import access
from scoring.models import ImportLine, ImportRun, StreamedClass

AT_WORK = (ImportRun.State.READING, ImportRun.State.SAVING, ImportRun.State.UNDOING)
STOPPED_AFTER = timedelta(minutes=2)
IN = (ImportLine.State.SAVED, ImportLine.State.UNDONE, ImportLine.State.LEFT)

_STATES = ImportLine.State
_WORK: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    ImportRun.State.READING: (
        (_STATES.UNREAD,),
        tuple(state for state in _STATES.values if state != _STATES.UNREAD),
    ),
    ImportRun.State.SAVING: ((_STATES.GOOD,), (_STATES.SAVED,)),
    ImportRun.State.UNDOING: ((_STATES.SAVED,), (_STATES.UNDONE, _STATES.LEFT)),
}
"""Which states of lines wait for the work at hand, and which are behind it."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many lines an import has of each state, and how far work on it is."""

    by_state: dict[str, int]
    total: int
    done: int
    to_do: int

    @property
    def percent(self) -> int:
        """How much of the work at hand is done."""
        return 100 * self.done // max(1, self.done + self.to_do)


def imports_of(*, streamed_class: StreamedClass, viewer: access.Viewer) -> QuerySet[ImportRun]:
    """A class's imports, the newest first; ``made`` counts the lines that are in."""
    return (
        access.visible_imports(viewer)
        .filter(streamed_class=streamed_class)
        .select_related("by")
        .annotate(
            count=Count("lines"),
            made=Count("lines", filter=Q(lines__state=ImportLine.State.SAVED)),
        )
    )


def import_for(*, viewer: access.Viewer, pk: int) -> ImportRun | None:
    """One import, ``None`` if there is none that the viewer may see."""
    return (
        access.visible_imports(viewer)
        .select_related(
            "streamed_class__workout",
            "streamed_class__gym",
            "streamed_class__credit_table",
            "streamed_class__coach",
            "by",
            "gym",
        )
        .filter(pk=pk)
        .first()
    )


def lines_of(*, run: ImportRun, viewer: access.Viewer, state: str = "") -> QuerySet[ImportLine]:
    """An import's lines in their order, of one state if one is named."""
    lines = ImportLine.objects.filter(run__in=access.visible_imports(viewer), run=run)
    if state in ImportLine.State.values:
        lines = lines.filter(state=state)
    return lines.select_related("member", "chosen", "run", "fact", "before").order_by("number")


def line_for(*, run: ImportRun, viewer: access.Viewer, number: int) -> ImportLine | None:
    """A line of an import by its number."""
    return lines_of(run=run, viewer=viewer).filter(number=number).first()


def counts_of(run: ImportRun) -> Counts:
    """How far an import is. One query."""
    rows = run.lines.order_by().values("state").annotate(count=Count("pk"))
    found = {row["state"]: row["count"] for row in rows}
    total = sum(found.values())
    waiting, reached = _WORK.get(run.state, ((), ()))
    return Counts(
        {state: found.get(state, 0) for state in _STATES.values},
        total,
        sum(found.get(state, 0) for state in reached),
        sum(found.get(state, 0) for state in waiting),
    )


def stopped_imports(*, now: datetime) -> QuerySet[ImportRun]:
    """Imports at work on which nothing happened for a while. A touch that is yet to come was
    before the clock was set back."""
    long_ago = Q(touched_at__lte=now - STOPPED_AFTER) | Q(touched_at__gt=now + STOPPED_AFTER)
    return ImportRun.objects.filter(long_ago, state__in=AT_WORK)


def candidates_of(lines: list[ImportLine]) -> dict[int, Membership]:
    """Those whom lines may be about, by id. One query."""
    asked = {pk for line in lines for pk in line.candidates if isinstance(pk, int)}
    if not asked:
        return {}
    gym = lines[0].run.gym
    return {member.pk: member for member in members_of(gym).filter(pk__in=asked)}
