"""Classes: making, opening, closing."""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import Enum

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from members.audit import record
from members.models import Gym, Membership
from scoring import access
from scoring.core.course import Course, PlaceError
from scoring.mapping import prescription
from scoring.models import State, StreamedClass, Workout
from scoring.problems import refuse, storable

from .credits import current_table
from .estimate_runs import ask
from .workouts import save_workout

MAX_NOTE = 2000
LONGEST_OPEN = timedelta(days=60)
YEARS = range(1970, 2200)
"""Years a class may start in: pages look weeks around it, and calendars end."""


class Unchanged(Enum):
    """What stays as it is, where ``None`` means something else."""

    UNCHANGED = "unchanged"


UNCHANGED = Unchanged.UNCHANGED


def _check_times(starts_at: datetime, closes_at: datetime | None) -> None:
    if starts_at.year not in YEARS:
        raise refuse(
            "starts_at", f"The year {starts_at.year} is too far off for a class.",
            f"Write a year from {YEARS[0]} to {YEARS[-1]}.",
        )  # fmt: skip
    if closes_at is None:
        return
    if not starts_at < closes_at <= starts_at + LONGEST_OPEN:
        raise refuse(
            "closes_at", "A class closes after it starts, at most 60 days later.",
            "Write a later time, or leave it and close by hand.",
        )  # fmt: skip


def _check_settings(workout: Workout, tie_break_block: int | None, note: str) -> None:
    if len(note) > MAX_NOTE or not storable(note):
        raise refuse("note", "That can't be kept.", f"At most {MAX_NOTE} characters.")
    if tie_break_block is None:
        return
    try:
        Course(prescription(workout.text)).block_end(tie_break_block)
    except PlaceError as error:
        raise refuse(
            "tie_break_block", str(error), "Name a block that ends before the AMRAP."
        ) from None


def _need_coach(by: Membership, gym: Gym) -> None:
    if not by.is_coach or by.gym_id != gym.pk:
        raise refuse("", "Only a coach of this gym can do that.", kind="forbidden")


@transaction.atomic
def create_class(
    *,
    gym: Gym,
    coach: Membership,
    starts_at: datetime,
    text: str | None = None,
    workout: Workout | None = None,
    weighted: bool = False,
    above_one: bool = False,
    tie_break_block: int | None = None,
    note: str = "",
    closes_at: datetime | None = None,
    now: datetime | None = None,
) -> StreamedClass:
    """Make a draft class from a text or a workout kept before.

    With ``closes_at`` it closes by itself then. Raises ``Refused`` for a text that can't be
    read or a person who is no coach here.
    """
    _need_coach(coach, gym)
    if workout is None:
        workout = save_workout(gym=gym, text=text or "", author=coach)
    elif workout.gym_id != gym.pk:
        raise refuse("workout", "That workout is another gym's.", kind="forbidden")
    _check_settings(workout, tie_break_block, note)
    _check_times(starts_at, closes_at)
    moment = now or timezone.now()
    made = StreamedClass.objects.create(
        created_at=moment,
        gym=gym,
        workout=workout,
        coach=coach,
        starts_at=starts_at,
        weighted=weighted,
        above_one=above_one,
        tie_break_block=tie_break_block,
        note=note,
        closes_at=closes_at,
        credit_table=current_table(gym=gym),
    )
    _record(made, coach, "make-class", moment)
    return made


def _record(
    row: StreamedClass,
    by: Membership | None,
    what: str,
    now: datetime,
    details: dict[str, object] | None = None,
) -> None:
    record(
        gym=row.gym,
        by=by,
        what=what,
        subject=row.workout.title,
        subject_key=f"class {row.pk}",
        details=details,
        now=now,
    )


@transaction.atomic
def change_draft(
    *,
    streamed_class: StreamedClass,
    by: Membership,
    text: str | None = None,
    starts_at: datetime | None = None,
    weighted: bool | None = None,
    above_one: bool | None = None,
    tie_break_block: int | None = None,
    note: str | None = None,
    closes_at: datetime | Unchanged | None = UNCHANGED,
    expected_version: int | None = None,
    now: datetime | None = None,
) -> StreamedClass:
    """Change a draft; what is ``None`` stays, but for the tie-break split and ``closes_at``,
    where it means that there is none.

    ``expected_version`` refuses the change if somebody changed the class meanwhile.
    """
    row = _locked(streamed_class, by)
    if expected_version is not None and expected_version != row.board_version:
        raise refuse("", "Somebody changed this class meanwhile.", "Load it again.", "conflict")
    if row.state != State.DRAFT:
        raise refuse(
            "", "Members see this class already, so it can't be changed.",
            "Make a new class, or correct single results.", "conflict",
        )  # fmt: skip
    if text is not None:
        row.workout = save_workout(gym=row.gym, text=text, author=by)
    for name, value in (
        ("starts_at", starts_at),
        ("weighted", weighted),
        ("above_one", above_one),
        ("note", note),
    ):
        if value is not None:
            setattr(row, name, value)
    if not isinstance(closes_at, Unchanged):
        row.closes_at = closes_at
    _check_times(row.starts_at, row.closes_at)
    row.tie_break_block = tie_break_block
    _check_settings(row.workout, row.tie_break_block, row.note)
    row.board_version = F("board_version") + 1
    row.save()
    _record(row, by, "change-draft", now or timezone.now())
    row.refresh_from_db()
    return row


def _locked(streamed_class: StreamedClass, by: Membership) -> StreamedClass:
    row = (
        StreamedClass.objects.select_for_update(of=("self",))
        .select_related("workout", "gym", "credit_table")
        .get(pk=streamed_class.pk)
    )
    if not access.may_manage(by, row):
        raise refuse("", "Only a coach of this gym can do that.", kind="forbidden")
    return row


def _change_state(
    row: StreamedClass, by: Membership | None, now: datetime, state: State, allowed: State
) -> StreamedClass:
    if row.state == state:
        return row  # pressed twice
    if row.state != allowed:
        raise refuse("", f"A class that is {row.state} can't be made {state}.", kind="conflict")
    row.state = state
    if state == State.OPEN and row.opened_at is None:
        row.opened_at = now
        row.credit_table = current_table(gym=row.gym)
    row.closed_at = now if state == State.CLOSED else None
    if state == State.OPEN and row.closes_at is not None and row.closes_at <= now:
        row.closes_at = None  # or it would close again at once
    what = {State.OPEN: "open-class", State.CLOSED: "close-class"}[state]
    _record(row, by, "reopen-class" if allowed == State.CLOSED else what, now)
    if state == State.CLOSED:
        ask(gym=row.gym, by=None, now=now)
    row.board_version = F("board_version") + 1
    row.save()
    row.refresh_from_db()
    return row


@transaction.atomic
def open_class(*, streamed_class: StreamedClass, by: Membership, now: datetime) -> StreamedClass:
    """Let members see the class and log. It scores by the credit table of this moment."""
    return _change_state(_locked(streamed_class, by), by, now, State.OPEN, State.DRAFT)


@transaction.atomic
def close_class(*, streamed_class: StreamedClass, by: Membership, now: datetime) -> StreamedClass:
    """End logging; coaches can still correct."""
    return _change_state(_locked(streamed_class, by), by, now, State.CLOSED, State.OPEN)


@transaction.atomic
def reopen_class(*, streamed_class: StreamedClass, by: Membership, now: datetime) -> StreamedClass:
    """Let members log again. A closing time that has passed is taken off."""
    return _change_state(_locked(streamed_class, by), by, now, State.OPEN, State.CLOSED)
