"""The audit trail is unbroken: it can't be changed, and what must stand there stands there."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from typing import Any

from django.db import connection
from django.db.models import CharField, Exists, F, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Cast, Concat

from members.models import AuditEntry
from scoring.models import CreditChange, Fact, ImportLine, ImportRun, StreamedClass

from . import sql
from .erased import erased_members
from .finding import Finding, Looked
from .scope import Scope

DEEDS = ("log-for-member", "correct-result", "withdraw-result")
NO_ENTRY = "The audit trail has no entry of it."
PAST_THE_SERVICE = "find out who wrote to the database past the service"
LOCKS = import_module("members.migrations.0006_audit_is_never_changed")
_ENABLED = """
SELECT t.tgname, t.tgenabled IN ('O', 'A') AND p.prosrc LIKE '%%RAISE EXCEPTION%%'
FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid
WHERE t.tgrelid = %s::regclass AND NOT t.tgisinternal"""


def audit(scope: Scope, looked: Looked) -> Iterator[Finding]:
    yield from _locks(looked)
    yield from _unrecorded(scope)
    yield from _unrecorded_facts(scope)
    looked.counts["entries of the audit trail"] += AuditEntry.objects.count()


def _locks(looked: Looked) -> Iterator[Finding]:
    """The triggers that refuse to change or delete an entry are there and work."""
    if connection.vendor == "sqlite":
        there = {
            name: " ".join(text.split()) == " ".join(LOCKS.SQLITE.get(name, "").split())
            for name, text in sql.rows(
                "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s",
                [LOCKS.TABLE],
            )
        }
    else:
        there = {name: bool(works) for name, works in sql.rows(_ENABLED, [LOCKS.TABLE])}
    for name in LOCKS.SQLITE:
        if not there.get(name):
            yield Finding(
                "audit-unlocked", f"trigger {name} of {LOCKS.TABLE}",
                "entries could be changed" if name not in there else "it is not as it was made",
                "manage.py migrate members 0005, then manage.py migrate: it is made anew",
            )  # fmt: skip


def _entry(gym: str, at: str, what: tuple[str, ...], kind: str, key: str) -> Exists:
    """Whether a deed has its entry: in the gym, at the moment and about the row that these
    fields tell."""
    subject = Concat(Value(f"{kind} "), Cast(OuterRef(key), CharField(max_length=20)))
    return Exists(
        AuditEntry.objects.filter(
            gym=OuterRef(gym), at=OuterRef(at), what__in=what, subject_key=subject
        )
    )


def _deeds(scope: Scope) -> Iterator[tuple[str, QuerySet[Any], Exists]]:
    """What services record when they do it, by the rows that tell of it too."""
    classes = StreamedClass.objects.filter(scope.within("pk"))
    opened = _entry("gym", "opened_at", ("open-class",), "class", "pk")
    yield "opening of class", classes.exclude(opened_at=None), opened
    closed = _entry("gym", "closed_at", ("close-class",), "class", "pk")
    yield "closing of class", classes.exclude(closed_at=None), closed
    imports = ImportRun.objects.filter(scope.within("streamed_class")).exclude(confirmed_at=None)
    came = _entry("gym", "confirmed_at", ("import-results",), "class", "streamed_class")
    yield "import", imports, came
    if scope.is_whole:
        changes = CreditChange.objects.exclude(accepted_at=None)
        made = ("change-credits", "undo-credits")
        accepted = _entry("gym", "accepted_at", made, "credit change", "pk")
        yield "change of credits", changes, accepted


def _unrecorded(scope: Scope) -> Iterator[Finding]:
    """Every deed that the data tell of has its entry: so one that was taken out is noticed."""
    for kind, rows, entry in _deeds(scope):
        for pk in rows.filter(~entry).order_by("pk").values_list("pk", flat=True).iterator():
            yield Finding("deed-unrecorded", f"{kind} {pk}", NO_ENTRY, PAST_THE_SERVICE)


def _unrecorded_facts(scope: Scope) -> Iterator[Finding]:
    """What was changed of a result, or entered for somebody else, has its entry.

    Imports are recorded whole, and their lines tell which facts they made; lines about who was
    erased are gone, so of those nothing can be said.
    """
    entry = _entry("result__streamed_class__gym", "created_at", DEEDS, "result", "result")
    facts = (
        Fact.objects.filter(scope.within("result__streamed_class"))
        .filter(Q(number__gt=1) | ~Q(entered_by=F("result__member")))
        .exclude(result__member__in=erased_members().values("pk"))
        .filter(
            ~entry,
            ~Exists(ImportLine.objects.filter(fact=OuterRef("pk"))),
            ~Exists(ImportLine.objects.filter(undo_fact=OuterRef("pk"))),
        )
    )
    for pk, result in facts.order_by("pk").values_list("pk", "result").iterator():
        yield Finding(
            "fact-unrecorded", f"fact {pk} of result {result}",
            f"it changed a result that stood, or was entered for somebody else. {NO_ENTRY}",
            PAST_THE_SERVICE,
        )  # fmt: skip
