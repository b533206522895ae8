"""Which classes a change of credits concerns, and what each of them would count by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scoring.core.credit_changes import changed, entry_of, says_the_same, touches
from scoring.core.credits import CreditTable
from scoring.mapping import course_of
from scoring.models import ChangedClass, CreditChange, CreditTableVersion, State, StreamedClass


@dataclass(frozen=True, slots=True)
class Concerned:
    """A class with the table it counts by; ``to`` is ``None`` for the change's new version."""

    streamed_class: StreamedClass
    own: CreditTableVersion
    to: CreditTableVersion | None


def table_of(version: CreditTableVersion) -> CreditTable:
    """A stored version as the core's table."""
    return CreditTable.from_dict(version.rules)


def proposed(change: CreditChange) -> CreditTable:
    """The table a change makes of the one it was asked for on."""
    return changed(table_of(change.from_version), [entry_of(each) for each in change.entries])


def _before(change: CreditChange, new: CreditTable) -> dict[int, CreditTableVersion]:
    """Where an undo puts classes back to a version of their own, by class.

    A class may have counted by an older version than the one the undone change began
    with, since a change before it was only for classes to come. Put into the undo's new
    version it would count otherwise than before.
    """
    undone = change.undoes
    if undone is None or undone.to_version_id != change.from_version_id:
        return {}
    rows = undone.classes.select_related("from_table")
    return {
        row.streamed_class_id: row.from_table
        for row in rows
        if not says_the_same(table_of(row.from_table), new)
    }


def concerned(change: CreditChange) -> Iterator[Concerned]:
    """Open and closed classes whose results a change could count otherwise, newest first.

    A change for classes to come concerns none. An undo concerns the classes of the change
    it undoes, and those that count by its credits since.
    """
    if change.scope == CreditChange.Scope.NEW:
        return
    current, new = table_of(change.from_version), proposed(change)
    before, undone = _before(change, new), change.undoes
    rows = (
        StreamedClass.objects.filter(gym=change.gym_id)
        .exclude(state=State.DRAFT)
        .select_related("workout", "credit_table")
        .order_by("-starts_at", "-pk")
    )
    own_rows: set[int] = set()
    since = 0
    if undone is not None and undone.to_version is not None:
        own_rows = set(undone.classes.values_list("streamed_class_id", flat=True))
        since = undone.to_version.version
    tables: dict[int, CreditTable] = {}
    seen: dict[tuple[object, ...], bool] = {}
    for streamed in rows:
        own = streamed.credit_table
        if undone is not None and streamed.pk not in own_rows and own.version < since:
            continue
        to = before.get(streamed.pk)
        target = new if to is None else tables.setdefault(to.pk, table_of(to))
        counts_by = tables.setdefault(own.pk, table_of(own))
        key = (streamed.workout_id, own.pk, None if to is None else to.pk)
        if key not in seen:
            course = course_of(streamed)
            seen[key] = touches(course, current, new) and touches(course, counts_by, target)
        if seen[key]:
            yield Concerned(streamed, own, to)


def line_up(change: CreditChange) -> bool:
    """Bring a change's list of classes up to date; whether anything was added or dropped.

    Classes that count by another table than when they were looked at are looked at again.
    """
    found = {each.streamed_class.pk: each for each in concerned(change)}
    there = {row.streamed_class_id: row for row in change.classes.filter(done_at=None)}
    done = set(change.classes.exclude(done_at=None).values_list("streamed_class_id", flat=True))
    gone = [
        row.pk
        for pk, row in there.items()
        if pk not in found
        or row.from_table_id != found[pk].own.pk
        or row.to_table_id != (found[pk].to.pk if found[pk].to else None)  # type: ignore[union-attr]
    ]
    ChangedClass.objects.filter(pk__in=gone).delete()
    kept = {pk for pk, row in there.items() if row.pk not in set(gone)}
    fresh = [
        ChangedClass(
            change=change,
            streamed_class=each.streamed_class,
            from_table=each.own,
            to_table=each.to,
        )
        for pk, each in found.items()
        if pk not in kept and pk not in done
    ]
    ChangedClass.objects.bulk_create(fresh, ignore_conflicts=True)
    return bool(gone or fresh)
