"""What is told of following up, as plain data."""

from __future__ import annotations

from typing import Any

from scoring.core.follow_up_words import FIELDS, fields_of
from scoring.models import FollowUp, FollowUpLetter
from scoring.selectors.follow_up import Person, Words
from scoring.selectors.follow_up_reasons import Found

Told = dict[str, Any]


def person(found: Person) -> Told:
    return {
        "member": found.member.pk,
        "name": found.member.display_name,
        "reasons": [reason(each) for each in found.reasons],
    }


def reason(found: Found) -> Told:
    return {
        "reason": found.reason.value,
        "told": found.reason.label,
        "occasion": found.occasion,
        "evidence": found.evidence,
        "cautions": list(found.cautions),
        "class": found.class_id,
        "result": found.result_id,
    }


def letter(row: FollowUpLetter) -> Told:
    state = "sent" if row.is_sent else "not sent" if row.is_lost else "waiting"
    return {
        "reason": row.reason,
        "asked_at": row.asked_at,
        "by": row.by.display_name if row.by else None,
        "state": state,
    }


def away(row: FollowUp) -> Told:
    return {
        "id": row.pk,
        "member": row.member_id,
        "name": row.member.display_name,
        "reason": row.reason,
        "state": row.state,
        "until": row.until,
        "at": row.at,
        "by": row.by.display_name if row.by else None,
    }


def words(found: Words) -> Told:
    return {
        "reason": found.reason.value,
        "in_use": found.in_use,
        "own": found.own,
        "gym": found.gym,
        "usual": found.usual,
        "fields_known": [
            {"field": f"{{{name}}}", "told": FIELDS[name]} for name in fields_of(found.reason)
        ],
    }
