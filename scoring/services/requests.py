"""Asking for a change of a closed class, and answering it."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from members.audit import record
from members.models import Membership
from scoring import access, metrics
from scoring.mapping import course_of, fact_texts, read_unbroken, rules_of
from scoring.models import ChangeRequest, State, StreamedClass
from scoring.problems import refuse, storable

from .reading import ResultInput, possible_unbroken, read_result
from .submitting import submit_result

MAX_WORDS = 500


def _words(text: str, column: str, *, needed: bool) -> str:
    words = " ".join(text.split())
    if (needed and not words) or len(words) > MAX_WORDS or not storable(words):
        raise refuse(column, "A few words are needed.", f"Say why, in up to {MAX_WORDS} letters.")
    return words


def ask_for_change(
    *,
    streamed_class: StreamedClass,
    member: Membership,
    data: ResultInput,
    words: str,
    now: datetime,
) -> ChangeRequest:
    """Ask the coach to enter or change one's result in a closed class.

    Asked again while waiting, the new request takes the old one's place. Raises ``Refused``
    for a mark that could not be scored, no words, or a class in which one can still log.
    """
    if not access.may_see_class(member, streamed_class):
        raise refuse("", "That class is not yours.", kind="forbidden")
    if streamed_class.state != State.CLOSED:
        raise refuse("", "The class is open.", "Log the change yourself.", "conflict")
    why = _words(words, "words", needed=True)
    course = course_of(streamed_class)
    read, _ = read_result(course, rules_of(streamed_class), data)
    texts = fact_texts(course, read)
    try:
        with transaction.atomic():
            row, _ = ChangeRequest.objects.select_for_update().update_or_create(
                streamed_class=streamed_class,
                member=member,
                answer=ChangeRequest.Answer.WAITING,
                defaults={**texts, "words": why, "asked_at": now},
            )
    except IntegrityError:  # asked twice at the same moment
        return ChangeRequest.objects.get(
            streamed_class=streamed_class, member=member, answer=ChangeRequest.Answer.WAITING
        )
    return row


def answer_request(
    *, request: ChangeRequest, by: Membership, accept: bool, words: str, now: datetime
) -> ChangeRequest:
    """Accept a request, which logs what it asks for, or decline it with a word.

    A second answer is refused, so that two coaches can't answer differently.
    """
    with transaction.atomic():
        row = (
            ChangeRequest.objects.select_for_update(of=("self",))
            .select_related(
                "streamed_class__workout",
                "streamed_class__gym",
                "streamed_class__credit_table",
                "member__gym",
            )
            .get(pk=request.pk)
        )
        if not access.may_manage(by, row.streamed_class):
            raise refuse("", "Only a coach of this gym can answer.", kind="forbidden")
        if row.answer != ChangeRequest.Answer.WAITING:
            raise refuse("", "This request was answered already.", kind="conflict")
        said = _words(words, "words", needed=not accept)
        row.answer = ChangeRequest.Answer.ACCEPTED if accept else ChangeRequest.Answer.DECLINED
        row.answer_words, row.answered_by, row.answered_at = said, by, now
        row.save()
        record(
            gym=row.streamed_class.gym,
            by=by,
            what="accept-request" if accept else "decline-request",
            member=row.member,
            subject=row.streamed_class.workout.title,
            subject_key=f"class {row.streamed_class_id}",
            why=said,
            details={"mark": row.mark, "options": row.options},
            now=now,
        )
        if accept:
            note, effort, unbroken = _current(row)
            done = submit_result(
                streamed_class=row.streamed_class,
                member=row.member,
                entered_by=by,
                data=ResultInput(
                    mark=row.mark,
                    options=row.options,
                    splits=row.splits,
                    note=note,
                    effort=effort,
                    unbroken=possible_unbroken(row.streamed_class, row.mark, unbroken),
                ),
                key=f"request-{row.pk}",
                now=now,
                reason=f"asked by the member: {row.words}"[:500],
            )
            metrics.result_sent("coach", done)
    return row


def _current(row: ChangeRequest) -> tuple[str, int | None, dict[str, int]]:
    """The note, the effort and the unbroken sets that stand: a change of the mark leaves them
    as they are."""
    result = row.streamed_class.results.filter(member=row.member).select_related("current").first()
    if result is None or result.current is None:
        return "", None, {}
    current = result.current
    return current.note, current.effort, read_unbroken(current.unbroken)
