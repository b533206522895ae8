"""Logging a result: once, however often it is sent."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime

from django.db import connection, transaction

from members.models import Membership
from members.plain import insert
from scoring import access, metrics
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import course_of, rules_of
from scoring.models import Fact, Pain, Result, Score, State, StreamedClass, Submission
from scoring.problems import Refused, refuse, storable

from .pains import read_pain, tell_pain
from .reading import ChoiceInput, ResultInput, read_result, texts_of, try_score
from .writing import add_fact, next_board_version, put_score, record_fact

__all__ = ["ChoiceInput", "PainInput", "ResultInput", "Submitted", "submit_result", "try_score"]

MAX_KEY = 255
MAX_REASON = 500


@dataclass(frozen=True, slots=True)
class Submitted:
    """``created`` for a first result, ``replayed`` if nothing had to be written. ``score``
    is ``None`` when the replayed result was withdrawn meanwhile. ``hurts`` is whether it is
    told that something hurts, ``None`` where that was not looked up."""

    result: Result
    fact: Fact
    score: Score | None
    created: bool
    replayed: bool
    hurts: bool | None = None


@dataclass(frozen=True, slots=True)
class PainInput:
    """What hurts; empty for nothing, which takes back what was told before."""

    areas: tuple[str, ...] = ()
    words: str = ""


def digest_of(data: ResultInput, pain: PainInput | None) -> str:
    """What tells that a key came with the same as before."""
    splits = data.splits if isinstance(data.splits, str) else dict(data.splits)
    payload: list[object] = [
        data.mark,
        [[c.line, c.option, c.reps] for c in data.choices],
        data.options,
        splits,
        data.note,
        data.effort,
    ]
    if data.unbroken:
        payload.append(dict(data.unbroken))
    if pain is not None:
        payload.append([list(pain.areas), pain.words])
    return hashlib.sha256(json.dumps(payload, sort_keys=True).encode()).hexdigest()


def _replayed(
    streamed_class: StreamedClass, member: Membership, key: str, digest: str
) -> Submitted | None:
    """What the same key was answered with before, if it was."""
    before = (
        Submission.objects.filter(streamed_class=streamed_class, member=member, key=key)
        .select_related("fact__result")
        .first()
        if key
        else None
    )
    if before is None:
        return None
    if before.digest != digest:
        raise refuse(
            "key", "Something else was sent under this key before.",
            "Send a new result under a new key.", "conflict",
        )  # fmt: skip
    result = before.fact.result
    score = Score.objects.filter(result=result).first()
    return Submitted(result, before.fact, score, before.is_new_result, True)


@dataclass(frozen=True, slots=True)
class _There:
    """What is there of a member in a class: their result with its current fact, whether the
    key was sent before, and whether something was told to hurt."""

    result: Result | None
    is_sent: bool
    hurts: bool


def _there(streamed_class: StreamedClass, member: Membership, key: str) -> _There | None:
    """All that is to be known before a result is written, in one query for a first one;
    ``None`` for who is no longer in the gym."""
    members, results, submissions, pains = (
        model._meta.db_table for model in (Membership, Result, Submission, Pain)
    )
    where = "WHERE of.streamed_class_id = %s AND of.member_id = %s"
    of_them = [streamed_class.pk, member.pk]
    with connection.cursor() as cursor:
        # Written out, since Django takes longer to put it together than the database to answer.
        cursor.execute(
            f"SELECT EXISTS (SELECT 1 FROM {submissions} of {where} AND of.key = %s), "  # noqa: S608
            f"EXISTS (SELECT 1 FROM {pains} of {where}), "
            f"(SELECT of.id FROM {results} of {where}) "
            f"FROM {members} WHERE id = %s AND left_at IS NULL",
            [*of_them, key, *of_them, *of_them, member.pk],
        )
        found = cursor.fetchone()
    if found is None:
        return None
    is_sent, hurts, result_id = found
    result = None
    if result_id is not None:
        result = Result.objects.select_related("current").get(pk=result_id)
    return _There(result, bool(is_sent) and key != "", bool(hurts))


@metrics.counts_refusals
def submit_result(
    *,
    streamed_class: StreamedClass,
    member: Membership,
    entered_by: Membership,
    data: ResultInput,
    key: str,
    now: datetime,
    reason: str = "",
    pain: PainInput | None = None,
    read: tuple[CoreResult, CoreScore] | None = None,
) -> Submitted:
    """Log what a member did, and what hurts if they say so (``pain``).

    The same ``key`` with the same data answers as the first time did; what equals the
    current fact adds none. Something else is a correction, kept with its predecessor.
    Members log for themselves while the class is open; a coach logs for anybody of the
    gym, in a closed class with a ``reason``. ``read`` is what ``read_result`` made of the
    same ``data`` and class, for who had to read it before.

    Raises
    ------
    Refused
        ``invalid`` input, ``closed`` class, ``forbidden`` person, or a ``conflict`` of keys.
    """
    is_coach = access.may_manage(entered_by, streamed_class)
    if member.gym_id != streamed_class.gym_id or (entered_by.pk != member.pk and not is_coach):
        raise refuse("", "You can only log for yourself in your own gym.", kind="forbidden")
    if not access.may_see_class(entered_by, streamed_class):
        raise refuse("", "This class is not open yet.", kind="forbidden")
    if len(key) > MAX_KEY or not storable(key):
        raise refuse("key", "That key can't be kept.", f"At most {MAX_KEY} plain characters.")
    why = " ".join(reason.split())
    if len(why) > MAX_REASON or not storable(why):
        raise refuse("reason", "That reason can't be kept.", f"At most {MAX_REASON} characters.")
    if pain is not None:
        read_pain(pain.areas, pain.words)
    digest = digest_of(data, pain)
    is_over = not is_coach and streamed_class.closes_at and streamed_class.closes_at <= now
    if (is_over or streamed_class.state != State.OPEN) and (
        replayed := _replayed(streamed_class, member, key, digest)
    ):
        return replayed  # as it was answered then, whatever became of the class
    only_open = streamed_class.state != State.CLOSED or not is_coach
    if is_over:
        # Its time has come, whether or not the one who closes it has been by.
        raise refuse(
            "", "This class is closed.", "Ask your coach for what you did to be entered.", "closed"
        )
    if not only_open and not why:
        raise refuse("reason", "The class is closed.", "Say why it is entered now.", "closed")
    course, rules = course_of(streamed_class), rules_of(streamed_class)
    found, scored = read or read_result(course, rules, data)
    texts = texts_of(course, found, data)
    table_id = streamed_class.credit_table_id
    with transaction.atomic():
        try:
            version = next_board_version(
                streamed_class, only_open=only_open, is_log=entered_by.pk == member.pk
            )
        except Refused:  # closed meanwhile
            if replayed := _replayed(streamed_class, member, key, digest):
                return replayed
            raise
        if streamed_class.credit_table_id != table_id:
            _, scored = read_result(course, rules_of(streamed_class), data)
        # The class's row is held, so nobody else makes this result meanwhile.
        there = _there(streamed_class, member, key)
        if there is None:
            # Gone since this began, perhaps erased: nothing of theirs may come after.
            raise refuse("", "They are no longer in this gym.", kind="forbidden")
        if there.is_sent and (replayed := _replayed(streamed_class, member, key, digest)):
            transaction.set_rollback(True)  # the version stays as it was
            return replayed
        created = there.result is None
        result = there.result or insert(Result(streamed_class=streamed_class, member=member))
        result.streamed_class, result.member = streamed_class, member
        current = result.current
        same = (
            current is not None
            and not current.is_withdrawn
            and (current.note, current.effort) == (data.note, data.effort)
            and all(getattr(current, name) == text for name, text in texts.items())
        )
        if same and current is not None:
            fact = current
        else:
            fact = add_fact(
                result=result,
                texts=texts,
                note=data.note,
                effort=data.effort,
                entered_by=entered_by,
                reason=why,
                now=now,
            )
        score = put_score(
            streamed_class=streamed_class,
            fact=fact,
            scored=scored,
            version=version,
            is_new=created,
        )
        result.current, result.score = fact, score
        if fact is not current and (current is not None or entered_by.pk != member.pk):
            what = "log-for-member" if current is None else "correct-result"
            record_fact(streamed_class=streamed_class, fact=fact, what=what)
        if pain is not None and (pain.areas or pain.words or there.hurts):
            tell_pain(
                streamed_class=streamed_class,
                member=member,
                areas=pain.areas,
                words=pain.words,
                now=now,
            )
        if key:
            insert(
                Submission(
                    streamed_class=streamed_class,
                    member=member,
                    key=key,
                    digest=digest,
                    fact=fact,
                    is_new_result=created,
                    created_at=now,
                )
            )
        hurts = there.hurts if pain is None else bool(pain.areas or pain.words)
        return Submitted(result, fact, score, created, same, hurts)
