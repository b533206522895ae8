"""Corrections: a new fact with a reason; the old one stays."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from members.models import Membership
from scoring import access, metrics
from scoring.mapping import course_of, rules_of
from scoring.models import Fact, Result, State
from scoring.problems import refuse, storable

from .reading import ResultInput, read_result, texts_of
from .writing import add_fact, drop_score, next_board_version, put_score, record_fact

KEPT = ("mark", "options", "splits", "unbroken")


def _reason(reason: str) -> str:
    text = " ".join(reason.split())
    if not text or len(text) > 500 or not storable(text):
        raise refuse("reason", "A correction needs a reason.", "A few words, up to 500 letters.")
    return text


@metrics.counts_refusals
def correct_result(
    *, result: Result, by: Membership, data: ResultInput, reason: str, now: datetime
) -> Fact:
    """Replace what counts of a result, as a coach, with a reason.

    Raises ``Refused`` for bad input, no reason, or somebody who is no coach here.
    """
    streamed_class = result.streamed_class
    if not access.may_manage(by, streamed_class):
        raise refuse("", "Only a coach can correct a result.", kind="forbidden")
    why = _reason(reason)
    course, rules = course_of(streamed_class), rules_of(streamed_class)
    read, scored = read_result(course, rules, data)
    table_id = streamed_class.credit_table_id
    with transaction.atomic():
        version = next_board_version(streamed_class, only_open=False)
        if streamed_class.credit_table_id != table_id:
            _, scored = read_result(course, rules_of(streamed_class), data)
        fact = add_fact(
            result=Result.objects.get(pk=result.pk),
            texts=texts_of(course, read, data),
            note=data.note,
            effort=data.effort,
            entered_by=by,
            reason=why,
            now=now,
        )
        put_score(streamed_class=streamed_class, fact=fact, scored=scored, version=version)
        record_fact(streamed_class=streamed_class, fact=fact, what="correct-result")
        metrics.result_corrected()
    return fact


def withdraw_result(*, result: Result, by: Membership, reason: str, now: datetime) -> Fact:
    """Take a result off the board; its facts stay.

    Members withdraw their own while the class is open, coaches any with a reason.
    """
    streamed_class = result.streamed_class
    is_coach = access.may_manage(by, streamed_class)
    if not is_coach and by.pk != result.member_id:
        raise refuse("", "You can only withdraw your own result.", kind="forbidden")
    is_own = by.pk == result.member_id
    why = "" if is_own and not reason.strip() else _reason(reason)
    with transaction.atomic():
        only_open = not is_coach or streamed_class.state != State.CLOSED
        version = next_board_version(streamed_class, only_open=only_open)
        row = Result.objects.select_related("current").get(pk=result.pk)
        current = row.current
        if current is None or current.is_withdrawn:
            raise refuse("", "This result is withdrawn already.", kind="conflict")
        fact = add_fact(
            result=row,
            texts={name: getattr(current, name) for name in KEPT},
            note=current.note,
            effort=current.effort,
            entered_by=by,
            reason=why,
            now=now,
            is_withdrawn=True,
        )
        drop_score(result=row, version=version)
        record_fact(streamed_class=streamed_class, fact=fact, what="withdraw-result")
    return fact
