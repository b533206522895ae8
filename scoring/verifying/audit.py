"""The audit trail is unbroken: it can't be changed, and what must stand there stands there."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module

from django.db import connection
from django.db.models import CharField, Exists, F, OuterRef, Q, Value
from django.db.models.functions import Cast, Concat

from members.models import AuditEntry
from scoring.models import Fact, ImportLine

from . import sql
from .erased import erased_members
from .finding import Finding, Looked
from .scope import Scope

DEEDS = ("log-for-member", "correct-result", "withdraw-result")
LOCKS = import_module("members.migrations.0006_audit_is_never_changed")
_ENABLED = """
SELECT t.tgname, t.tgenabled IN ('O', 'A') AND p.prosrc LIKE '%%RAISE EXCEPTION%%'
FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid
WHERE t.tgrelid = %s::regclass AND NOT t.tgisinternal"""


def audit(scope: Scope, looked: Looked) -> Iterator[Finding]:
    yield from _locks(looked)
    yield from _unrecorded(scope)
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


def _unrecorded(scope: Scope) -> Iterator[Finding]:
    """What was changed of a result, or entered for somebody else, has its entry.

    Imports are recorded whole, and their lines tell which facts they made; lines about who was
    erased are gone, so of those nothing can be said.
    """
    entry = AuditEntry.objects.filter(
        gym=OuterRef("result__streamed_class__gym"),
        at=OuterRef("created_at"),
        what__in=DEEDS,
        subject_key=Concat(Value("result "), Cast(OuterRef("result"), CharField(max_length=20))),
    )
    facts = (
        Fact.objects.filter(scope.within("result__streamed_class"))
        .filter(Q(number__gt=1) | ~Q(entered_by=F("result__member")))
        .exclude(result__member__in=erased_members().values("pk"))
        .filter(
            ~Exists(entry),
            ~Exists(ImportLine.objects.filter(fact=OuterRef("pk"))),
            ~Exists(ImportLine.objects.filter(undo_fact=OuterRef("pk"))),
        )
    )
    for pk, result in facts.order_by("pk").values_list("pk", "result").iterator():
        yield Finding(
            "fact-unrecorded", f"fact {pk} of result {result}",
            "it changed a result that stood, or was entered for somebody else, and the audit "
            "trail has no entry of it", "find out who wrote to the database past the service",
        )  # fmt: skip
