"""All that is kept of somebody, as tables of plain cells, for a copy of their own.

No other member is named in it: Regulation (EU) 2016/679, Art. 15(4) and 20(4), a copy must
not harm others. Whoever else entered something is "a coach".
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator

from members.bodies import body_of
from members.devices import tokens_of
from members.leaving import all_memberships
from members.models import AuditEntry, Invitation, Membership, User
from scoring.core.breakdown import breakdown
from scoring.mapping import core_result, course_of, rules_of
from scoring.models import (
    ChangeRequest,
    DataExport,
    Fact,
    FollowUp,
    FollowUpLetter,
    FollowUpWords,
    ForecastLine,
    ImportLine,
    MemberNote,
    Pain,
    QuestionAnswer,
    QuestionAsked,
    Score,
    Setup,
    StreamedClass,
)
from scoring.snapshots import levels_of

Row = dict[str, Any]
Tables = dict[str, list[Row]]


def own_data(user: User) -> Tables:
    """Every table by its name; a cell is a text, a number, a truth, nothing, or a list."""
    own = all_memberships(user)
    return {
        "account": [_account(user)],
        "addresses": [
            {"email": row.email, "is_proven": row.verified, "is_primary": row.primary}
            for row in EmailAddress.objects.filter(user=user).order_by("pk")
        ],
        "passkeys": [
            {"made_at": _time(row.created_at), "last_used_at": _time(row.last_used_at)}
            for row in Authenticator.objects.filter(user=user).order_by("pk")
        ],
        "tokens": [
            {"made_at": _time(row.created), "expires_at": _time(row.expiry)}
            for row in tokens_of(user)
        ],
        "memberships": [_membership(member) for member in own],
        "body": [
            {
                "gym": member.gym.name,
                "year_of_birth": told.year_of_birth,
                "weight_kg": None if told.weight is None else str(told.weight),
            }
            for member in own
            if (told := body_of(member=member, viewer=member))
            and any((told.year_of_birth, told.weight))
        ],
        "gear": list(_gear(own)),
        "results": list(_results(own)),
        "scores": list(_scores(own)),
        "forecasts": list(_forecasts(own)),
        "levels": list(_levels(own)),
        "pains": list(_pains(own)),
        "requests": list(_requests(own)),
        "notes_by_coaches": list(_notes(own)),
        "results_asked_about": list(_asked_about(own)),
        "results_found_right": list(_found_right(own)),
        "follow_ups": list(_follow_ups(own)),
        "letters": list(_letters(own)),
        "follow_up_words": [
            {"gym": row.gym.name, "reason": row.get_reason_display(), "text": row.text}
            for row in FollowUpWords.objects.filter(coach__in=own)
            .select_related("gym")
            .order_by("pk")
        ],
        "brought_in": list(_brought_in(own)),
        "invitations_made": [
            {"gym": row.gym.name, "made_at": _time(row.created_at), "role": row.role}
            for row in Invitation.objects.filter(created_by__in=own)
            .select_related("gym")
            .order_by("created_at", "pk")
        ],
        "classes_given": [
            _of_class(streamed)
            for streamed in StreamedClass.objects.filter(coach__in=own)
            .select_related("workout", "gym")
            .order_by("starts_at", "pk")
        ],
        "deeds_about_me": [
            {"gym": row.gym.name, "at": _time(row.at), "what": row.what, "why": row.why}
            for row in AuditEntry.objects.filter(member__in=own)
            .select_related("gym")
            .order_by("at", "pk")
        ],
        "exports": [
            {"asked_at": _time(row.asked_at), "made_at": _time(row.made_at)}
            for row in DataExport.objects.filter(user=user).defer("archive").order_by("pk")
        ],
    }


def _time(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()


def _account(user: User) -> Row:
    return {
        "email": user.email,
        "joined_at": _time(user.date_joined),
        "last_sign_in": _time(user.last_login),
        "may_use_admin_pages": user.is_staff,
    }


def _membership(member: Membership) -> Row:
    return {
        "gym": member.gym.name,
        "name": member.display_name,
        "role": member.role,
        "shown_as": member.shown_as,
        "joined_at": _time(member.joined_at),
        "left_at": _time(member.left_at),
    }


def _gear(own: list[Membership]) -> Iterator[Row]:
    for row in Setup.objects.filter(member__in=own).select_related("member__gym").order_by("pk"):
        yield {
            "gym": row.member.gym.name,
            "has_told_gear": row.has_told_gear,
            "pieces": list(row.pieces),
            "loads": [f"{piece}: {', '.join(each)}" for piece, each in row.loads.items()],
            "usual": [f"{movement}: {option}" for movement, option in row.usual.items()],
            "unit": row.unit,
        }


def _of_class(streamed: StreamedClass) -> Row:
    return {
        "gym": streamed.gym.name,
        "class": streamed.pk,
        "title": streamed.workout.title,
        "starts_at": _time(streamed.starts_at),
    }


def _results(own: list[Membership]) -> Iterator[Row]:
    """Every fact with its corrections, in the order they were told."""
    facts = (
        Fact.objects.filter(result__member__in=own)
        .select_related("result__streamed_class__workout", "result__streamed_class__gym")
        .order_by("result__streamed_class__starts_at", "result", "number")
    )
    keys = {member.pk for member in own}
    for fact in facts:
        yield _of_class(fact.result.streamed_class) | {
            "result": fact.result_id,
            "number": fact.number,
            "is_current": fact.result.current_id == fact.pk,
            "mark": fact.mark,
            "options": fact.options,
            "splits": fact.splits,
            "note": fact.note,
            "effort": fact.effort,
            "reason": fact.reason,
            "is_withdrawn": fact.is_withdrawn,
            "entered_by": "me" if fact.entered_by_id in keys else "a coach",
            "told_at": _time(fact.created_at),
        }


def _scores(own: list[Membership]) -> Iterator[Row]:
    scores = (
        Score.objects.filter(result__member__in=own)
        .select_related(
            "fact",
            "streamed_class__workout",
            "streamed_class__gym",
            "streamed_class__credit_table",
        )
        .order_by("streamed_class__starts_at", "pk")
    )
    for score in scores:
        streamed = score.streamed_class
        course = course_of(streamed)
        opened = breakdown(course, core_result(course, score.fact), rules_of(streamed))
        yield _of_class(streamed) | {
            "result": score.result_id,
            "mark": score.fact.mark,
            "adjusted": score.adjusted_text,
            "raw_reps": score.raw_reps,
            "credited_reps": score.credited,
            "as_prescribed": score.as_prescribed,
            "rules_version": score.rules_version,
            "credits_version": streamed.credit_table.version,
            "explained": list(opened.sentences),
        }


def _forecasts(own: list[Membership]) -> Iterator[Row]:
    """What was expected of them in a class, in raw reps."""
    rows = ForecastLine.objects.filter(member__in=own).select_related(
        "record__streamed_class__workout", "record__streamed_class__gym"
    )
    for row in rows.order_by("record__made_at", "pk"):
        yield _of_class(row.record.streamed_class) | {
            "made_at": _time(row.record.made_at),
            "low": row.low,
            "middle": row.middle,
            "high": row.high,
            "draws": list(row.ensemble),
            "chances_to_pass_blocks": list(row.past),
        }


def _levels(own: list[Membership]) -> Iterator[Row]:
    """What their results were taken to say of their level, by the last estimate."""
    for member in own:
        for row in levels_of(member=member):
            yield {
                "gym": member.gym.name,
                "day": row.day.isoformat(),
                "results": row.results,
                "level": round(row.level, 2),
                "level_low": round(row.low, 2),
                "level_high": round(row.high, 2),
            }


def _pains(own: list[Membership]) -> Iterator[Row]:
    rows = Pain.objects.filter(member__in=own).select_related(
        "streamed_class__workout", "streamed_class__gym"
    )
    for row in rows.order_by("told_at", "pk"):
        yield _of_class(row.streamed_class) | {
            "areas": list(row.areas),
            "words": row.words,
            "told_at": _time(row.told_at),
        }


def _requests(own: list[Membership]) -> Iterator[Row]:
    rows = ChangeRequest.objects.filter(member__in=own).select_related(
        "streamed_class__workout", "streamed_class__gym"
    )
    for row in rows.order_by("asked_at", "pk"):
        yield _of_class(row.streamed_class) | {
            "mark": row.mark,
            "options": row.options,
            "splits": row.splits,
            "words": row.words,
            "asked_at": _time(row.asked_at),
            "answer": row.answer,
            "answer_words": row.answer_words,
            "answered_by": None if row.answered_at is None else "a coach",
            "answered_at": _time(row.answered_at),
        }


def _notes(own: list[Membership]) -> Iterator[Row]:
    """What coaches wrote down about them, struck out or not."""
    rows = MemberNote.objects.filter(member__in=own).select_related("member__gym", "strike")
    for row in rows.order_by("written_at", "pk"):
        strike = getattr(row, "strike", None)
        yield {
            "gym": row.member.gym.name,
            "words": row.words,
            "written_by": "a coach",
            "written_at": _time(row.written_at),
            "is_struck_out": strike is not None,
            "struck_at": None if strike is None else _time(strike.struck_at),
            "struck_because": "" if strike is None else strike.why,
        }


def _found_right(own: list[Membership]) -> Iterator[Row]:
    """Odd marks that a coach looked at and left as they are."""
    rows = QuestionAnswer.objects.filter(member__in=own).select_related(
        "fact__result__streamed_class__workout", "fact__result__streamed_class__gym"
    )
    for row in rows.order_by("answered_at", "pk"):
        yield _of_class(row.fact.result.streamed_class) | {
            "result": row.fact.result_id,
            "mark": row.fact.mark,
            "asked_about": row.kind,
            "answered_by": "a coach",
            "answered_at": _time(row.answered_at),
        }


def _asked_about(own: list[Membership]) -> Iterator[Row]:
    """Marks that the site asked their coaches about."""
    rows = QuestionAsked.objects.filter(member__in=own).select_related(
        "fact__result__streamed_class__workout", "fact__result__streamed_class__gym"
    )
    for row in rows.order_by("asked_at", "pk"):
        yield _of_class(row.fact.result.streamed_class) | {
            "result": row.fact.result_id,
            "mark": row.fact.mark,
            "asked_about": row.kind,
            "reason": row.reason,
            "asked_at": _time(row.asked_at),
        }


def _follow_ups(own: list[Membership]) -> Iterator[Row]:
    """What coaches noted of having a word with them."""
    rows = FollowUp.objects.filter(member__in=own).select_related("member__gym")
    for row in rows.order_by("pk"):
        yield {
            "gym": row.member.gym.name,
            "reason": row.get_reason_display(),
            "decided": row.get_state_display(),
            "until": None if row.until is None else row.until.isoformat(),
            "decided_by": "a coach",
            "decided_at": _time(row.at),
        }


def _letters(own: list[Membership]) -> Iterator[Row]:
    """That coaches wrote to them; the words stay in their mailbox only."""
    rows = FollowUpLetter.objects.filter(member__in=own).select_related("member__gym", "message")
    for row in rows.order_by("pk"):
        yield {
            "gym": row.member.gym.name,
            "reason": row.get_reason_display(),
            "words_waiting": row.words,
            "is_sent": row.is_sent,
            "written_by": "a coach",
            "written_at": _time(row.asked_at),
        }


def _brought_in(own: list[Membership]) -> Iterator[Row]:
    """What a coach brought in of them out of a chat or a file, while its words are kept."""
    rows = ImportLine.objects.filter(member__in=own).select_related(
        "run__streamed_class__workout", "run__streamed_class__gym"
    )
    others: dict[int, list[str]] = {}
    for row in rows.order_by("run", "number"):
        if row.run.gym_id not in others:
            others[row.run.gym_id] = _other_names(row.run.gym_id, own)
        yield _of_class(row.run.streamed_class) | {
            "line": _without_names(row.text_now, others[row.run.gym_id]),
            "mark": row.mark,
            "options": row.options,
            "splits": row.splits,
            "effort": row.effort,
            "note": _without_names(row.note, others[row.run.gym_id]),
            "state": row.get_state_display(),
            "told_at": _time(row.run.started_at),
        }


def _other_names(gym_id: int, own: list[Membership]) -> list[str]:
    names = Membership.objects.filter(gym=gym_id).exclude(pk__in=[m.pk for m in own])
    mine = {word.casefold() for m in own for word in m.display_name.split()}
    words = {w for name in names.values_list("display_name", flat=True) for w in name.split()}
    return sorted((w for w in words if w.casefold() not in mine), key=len, reverse=True)


def _without_names(text: str, names: list[str]) -> str:
    """A chat's line without the names of others in it."""
    known = {name.casefold() for name in names}
    return re.sub(r"\w[\w'’-]*", lambda m: "…" if m[0].casefold() in known else m[0], text)
