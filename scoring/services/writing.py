"""The one place that writes facts and scores."""

from __future__ import annotations

from datetime import datetime

from django.db import connection, transaction

from members.audit import record
from members.models import Membership
from members.plain import insert
from scoring import boards
from scoring.core.scoring import RULES_VERSION
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import score_fields
from scoring.models import Fact, Result, Score, State, StreamedClass
from scoring.problems import refuse


def next_board_version(
    streamed_class: StreamedClass, *, only_open: bool, is_log: bool = False
) -> int:
    """Count the board's version up and hold the class's row until the transaction ends.

    Everything that changes a board starts here, so changes of one class queue up and a
    class that was closed meanwhile is noticed. ``is_log`` says that a member logs for
    themselves: others may be shown the board before it for a moment, which no other change
    allows. ``streamed_class`` is told how many stand on its board before the change, and the
    credit table its class scores by now: a recompute may have moved it since it was read, and a
    score by the old credits would stand on a board of new ones. Raises ``Refused`` (closed).
    """
    condition = "AND state = %s" if only_open else ""
    with connection.cursor() as cursor:
        # Counted up, held and read in one statement, which Django's own update can't do.
        cursor.execute(
            f"UPDATE {StreamedClass._meta.db_table} SET board_version = board_version + 1, "  # noqa: S608
            f"board_logs = board_logs + %s WHERE id = %s {condition} "
            "RETURNING board_version, credit_table_id, board_entries, board_prescribed",
            [int(is_log), streamed_class.pk, *([State.OPEN.value] if only_open else [])],
        )
        found = cursor.fetchall()
    if not found:
        raise refuse(
            "", "This class is not open for logging.", "Ask your coach to enter it for you.",
            "closed",
        )  # fmt: skip
    version, table_id, streamed_class.board_entries, streamed_class.board_prescribed = found[0]
    if table_id != streamed_class.credit_table_id:
        streamed_class.credit_table_id = table_id
    return int(version)


def add_fact(
    *,
    result: Result,
    texts: dict[str, str],
    note: str,
    effort: int | None,
    entered_by: Membership,
    reason: str,
    now: datetime,
    is_withdrawn: bool = False,
) -> Fact:
    """Append the next fact of a result and make it the current one."""
    # A result's first fact finds none before it: one that has no current fact has none.
    number = result.facts.count() + 1 if result.current_id else 1
    fact = insert(
        Fact(
            result=result,
            number=number,
            note=note,
            effort=effort,
            entered_by=entered_by,
            reason=reason,
            is_withdrawn=is_withdrawn,
            created_at=now,
            **texts,
        )
    )
    result.current = fact
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE {Result._meta.db_table} SET current_id = %s WHERE id = %s",  # noqa: S608
            [fact.pk, result.pk],
        )
    return fact


def record_fact(*, streamed_class: StreamedClass, fact: Fact, what: str) -> None:
    """Note a change of a result that stood, or one made for somebody else, in the audit trail.

    What a member first logs for themselves is its own record: the fact says who and when.
    """
    before = fact.result.facts.filter(number=fact.number - 1).first()
    told = {"mark": fact.mark, "options": fact.options}
    if before is not None:
        told |= {"mark before": before.mark, "options before": before.options}
    record(
        gym=streamed_class.gym,
        by=fact.entered_by,
        what=what,
        member=fact.result.member,
        subject=streamed_class.workout.title,
        subject_key=f"result {fact.result_id}",
        why=fact.reason,
        details=told,
        now=fact.created_at,
    )


def put_score(
    *,
    streamed_class: StreamedClass,
    fact: Fact,
    scored: CoreScore,
    version: int,
    is_new: bool = False,
) -> Score:
    """Write a result's score and tell the board once it is committed.

    ``is_new`` says that the result was made just now, in the same transaction. The class in
    hand is then told of it, as the database counts it by itself: whoever is given their rank in
    the same breath would have to ask for all of that again.
    """
    told = {
        "streamed_class": streamed_class,
        "fact": fact,
        "rules_version": RULES_VERSION,
        "credit_table_id": streamed_class.credit_table_id,
        **score_fields(scored),
    }
    if is_new:  # there is no score to look for
        row = insert(Score(result=fact.result, **told))
        streamed_class.board_version = version
        streamed_class.board_entries += 1
        streamed_class.board_prescribed += row.as_prescribed
    else:
        row, _ = Score.objects.update_or_create(result=fact.result, defaults=told)
    transaction.on_commit(lambda: boards.store().put(row, version=version))
    return row


def drop_score(*, result: Result, version: int) -> None:
    """Take a withdrawn result off the board."""
    row = Score.objects.filter(result=result).first()
    if row is None:
        return
    row.delete()
    transaction.on_commit(lambda: boards.store().remove(row, version=version))
