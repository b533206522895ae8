"""The audit trail as coaches read it: who did what, to whom, when and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from members.models import AuditEntry
from scoring import access
from scoring.models import CreditChange, Result, StreamedClass

INNER = frozenset(("occasion", "import", "question", "reason", "workout", "scope"))
"""Details for programs, which say nothing to a person."""

WORDS = {
    "make-gym": "made the gym",
    "change-gym": "changed the gym's settings",
    "add-member": "added",
    "remove-member": "removed",
    "leave-gym": "left the gym",
    "change-role": "changed the role of",
    "change-rights": "changed the rights of",
    "make-invitation": "made an invitation",
    "revoke-invitation": "took an invitation back",
    "join-by-invitation": "joined by an invitation",
    "make-class": "wrote the class",
    "change-draft": "changed the draft",
    "open-class": "opened the class",
    "close-class": "closed the class",
    "reopen-class": "reopened the class",
    "set-closing-time": "set the closing time of",
    "log-for-member": "logged a result for",
    "correct-result": "corrected the result of",
    "withdraw-result": "withdrew the result of",
    "accept-request": "accepted a request of",
    "decline-request": "declined a request of",
    "find-result-right": "looked at and found right a result of",
    "write-note": "wrote a note on",
    "strike-note": "struck out a note on",
    "import-results": "brought results into",
    "undo-import": "took back what was brought into",
    "change-credits": "changed credits:",
    "undo-credits": "set credits back:",
    "move-class": "moved the draft",
    "delete-class": "deleted the draft",
    "repeat-workout": "planned again",
    "copy-week": "copied a week:",
    "make-template": "made the template",
    "change-template": "changed the template",
    "remove-template": "removed the template",
    "follow-up-done": "had a word with",
    "follow-up-later": "put off following up",
    "follow-up-never": "no longer follows up",
    "follow-up-open": "took back a decision about",
    "send-follow-up": "wrote to",
    "save-words": "changed words to send:",
    "restore-words": "restored words to send:",
    "set-silent-days": "set when silence is noticed",
    "record-restore": "put a backup back:",
}
"""Deeds in words; a new one is added here, and a test holds every service to it."""


LINKED: dict[str, Any] = {"class": StreamedClass, "result": Result, "credit": CreditChange}


@dataclass(frozen=True, slots=True)
class Deed:
    """An entry in words. ``by`` is who did it, ``whom`` about whom it was; ``link`` is what
    it was about, such as ``("class", 12)``, if there is a page of it."""

    entry: AuditEntry
    words: str
    by: str
    whom: str
    link: tuple[str, int] | None
    details: tuple[tuple[str, str], ...]


def audit_of(
    *, viewer: access.Viewer, what: str = "", member_id: int | None = None
) -> QuerySet[AuditEntry]:
    """The trail of the viewer's gym, the newest first; empty for who may not see it."""
    if viewer is None or not access.may_see_audit(viewer):
        return AuditEntry.objects.none()
    found = AuditEntry.objects.filter(gym=viewer.gym_id).select_related("by", "member")
    if what:
        found = found.filter(what=what)
    if member_id is not None:
        found = found.filter(member=member_id)
    return found.order_by("-at", "-pk")


def deeds(entries: Iterable[AuditEntry]) -> list[Deed]:
    """Entries in words; what is no longer there has no link."""
    listed = list(entries)
    links = {link for entry in listed if (link := _link(entry))}
    gone = set()
    for kind, model in LINKED.items():
        asked = {pk for each, pk in links if each == kind}
        there = set(model.objects.filter(pk__in=asked).values_list("pk", flat=True))
        gone |= {(kind, pk) for pk in asked - there}
    return [deed(e, link=None if _link(e) in gone else _link(e)) for e in listed]


def _link(entry: AuditEntry) -> tuple[str, int] | None:
    kind, _, pk = entry.subject_key.replace("credit change", "credit").partition(" ")
    return (kind, int(pk)) if kind in LINKED and pk.isdigit() else None


def deed(entry: AuditEntry, *, link: tuple[str, int] | None = None) -> Deed:
    """An entry in words."""
    return Deed(
        entry=entry,
        words=WORDS.get(entry.what, entry.what.replace("-", " ")),
        by=entry.by.display_name if entry.by else "",
        whom=entry.member.display_name if entry.member and entry.member_id != entry.by_id else "",
        link=link,
        details=tuple(
            (name.replace("_", " "), _text(value))
            for name, value in entry.details.items()
            if name not in INNER
        ),
    )


def _text(value: object) -> str:
    if isinstance(value, dict):  # one entry of a credit table
        what = " for ".join(str(value[k]) for k in ("option", "movement") if value.get(k))
        before = value.get("from") or "not set"
        return f"{what or 'figure'} {before} → {value.get('credit') or 'not set'}"
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return ", ".join(_text(each) for each in value)
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "none"
    return str(value) if value not in ("", None) else "none"
