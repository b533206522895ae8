"""Logging for somebody in one line, ``ana 2+9 tuck, knee``, and undoing it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from members.models import Membership
from scoring import access, metrics
from scoring.mapping import course_of, read_unbroken, rules_of
from scoring.models import Fact, Result, StreamedClass, Submission
from scoring.problems import Refused, refuse

from .correcting import correct_result, withdraw_result
from .line_reading import AskFirst, LineRead, read_told, says
from .reading import ResultInput, read_result, texts_of
from .submitting import Submitted, submit_result

UNDONE = "Undone at once by the coach who logged it."


@dataclass(frozen=True, slots=True)
class LineDone:
    """A line, and what was kept of it; ``done`` is ``None`` if something must be asked."""

    read: LineRead
    done: Submitted | None


@metrics.counts_refusals
def log_line(
    *,
    streamed_class: StreamedClass,
    by: Membership,
    line: str,
    key: str,
    now: datetime,
    member: int | None = None,
    answers: Mapping[str, str] | None = None,
    correct: bool = False,
    reason: str = "",
    ask_first: AskFirst | None = None,
) -> LineDone:
    """Log what a line says, at once if nothing in it is doubtful.

    Nothing is kept while something must be asked: whose it is, what a word means, or, unless
    ``correct``, whether a result that is there shall be changed, which needs a ``reason``. The
    same ``key`` with the same line is one result, however often it is sent.

    Raises ``Refused`` like ``submit_result``, and for a line that can't be kept.
    """
    read = read_told(
        streamed_class=streamed_class,
        by=by,
        line=line,
        member=member,
        answers=answers,
        ask_first=ask_first,
    )
    if read.problems:
        raise Refused(*read.problems)
    if read.asks or read.member is None or read.data is None:
        return LineDone(read, None)
    if replayed := _replayed(streamed_class, read, key):
        return LineDone(read, replayed)
    if read.is_same and read.before is not None and read.before.current is not None:
        score = getattr(read.before, "score", None)
        return LineDone(read, Submitted(read.before, read.before.current, score, False, True))
    if read.asks_correction and not correct:
        return LineDone(read, None)
    if read.asks_correction and not reason.strip():
        raise refuse("reason", "A correction needs a reason.", "A few words; the member reads it.")
    done = submit_result(
        streamed_class=streamed_class,
        member=read.member,
        entered_by=by,
        data=read.data,
        key=key,
        now=now,
        reason=reason,
    )
    return LineDone(read, done)


def _replayed(streamed_class: StreamedClass, read: LineRead, key: str) -> Submitted | None:
    """What the same line was answered with before under this key, if it was.

    Raises ``Refused`` (conflict) for another line under the key.
    """
    sent = (
        Submission.objects.filter(streamed_class=streamed_class, member=read.member, key=key)
        .select_related("fact__result__score")
        .first()
        if key
        else None
    )
    if sent is None or read.data is None:
        return None
    fact = sent.fact
    course = course_of(streamed_class)
    result, _ = read_result(course, rules_of(streamed_class), read.data)
    if not says(fact, texts_of(course, result, read.data)):
        raise refuse(
            "key", "Something else was sent under this key before.",
            "Send it under a new key.", "conflict",
        )  # fmt: skip
    score = getattr(fact.result, "score", None)
    return Submitted(fact.result, fact, score, sent.is_new_result, True)


def undo_line(
    *, streamed_class: StreamedClass, fact_id: int, by: Membership, now: datetime
) -> Fact:
    """Take back what a coach logged a moment ago: what counted before counts again.

    A first result is taken off the board, a correction corrected back; all stays on record.
    Raises ``Refused``: ``forbidden`` for who didn't log it, a ``conflict`` if the result was
    changed since.
    """
    if not access.may_manage(by, streamed_class):
        raise refuse("", "Only a coach does that.", kind="forbidden")
    with transaction.atomic():
        # The class's row first, as everything that changes a board takes it.
        StreamedClass.objects.select_for_update(of=("self",)).get(pk=streamed_class.pk)
        result = (
            Result.objects.filter(streamed_class=streamed_class, facts=fact_id)
            .select_related("member", "current", "streamed_class__workout")
            .first()
        )
        if result is None or result.current is None:
            raise refuse("fact", "That result is not of this class.", "Reload the page.")
        fact = result.current
        if fact.pk != fact_id or fact.is_withdrawn:
            raise refuse(
                "fact", "It was changed since, so it can't be undone.",
                "Correct the result instead.", "conflict",
            )  # fmt: skip
        if fact.entered_by_id != by.pk:
            raise refuse(
                "fact", "Somebody else logged that.", "Correct the result instead.", "forbidden"
            )
        before = result.facts.filter(number=fact.number - 1).first()
        if before is None or before.is_withdrawn:
            return withdraw_result(result=result, by=by, reason=UNDONE, now=now)
        data = ResultInput(
            mark=before.mark,
            options=before.options,
            splits=before.splits,
            note=before.note,
            effort=before.effort,
            unbroken=read_unbroken(before.unbroken),
        )
        return correct_result(result=result, by=by, data=data, reason=UNDONE, now=now)
