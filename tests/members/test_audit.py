"""The audit trail: what was done stays on record, whoever would have it otherwise."""

import pytest
from django.db import DatabaseError, connection, transaction

from members.audit import record
from members.models import AuditEntry, Membership
from tests.conftest import NOW

REFUSED = "never changed or deleted"


@pytest.fixture
def entry(people):
    return record(
        gym=people.gym, by=people.coach, member=people.ana, what="correct-result",
        subject="Two ladders and a tide", subject_key="class 1", why="miscounted",
        details={"from": "2+9", "to": "2+8"}, now=NOW,
    )  # fmt: skip


CHANGES = {
    "what": "open-class",
    "at": NOW.replace(year=2020),
    "subject": "another",
    "subject_key": "class 2",
    "why": "a better reason",
    "details": {"from": "2+8"},
}


@pytest.mark.parametrize("field", CHANGES)
def test_no_field_can_be_changed(entry, field):
    with pytest.raises(DatabaseError, match=REFUSED), transaction.atomic():
        AuditEntry.objects.filter(pk=entry.pk).update(**{field: CHANGES[field]})


@pytest.mark.parametrize("field", ["by", "member"])
def test_no_deed_can_be_laid_to_somebody_else(entry, people, field):
    with pytest.raises(DatabaseError, match=REFUSED), transaction.atomic():
        AuditEntry.objects.filter(pk=entry.pk).update(**{field: people.ben})


def test_an_entry_can_not_be_deleted_not_even_by_plain_sql(entry):
    for delete in (
        entry.delete,
        AuditEntry.objects.all().delete,
        lambda: connection.cursor().execute("DELETE FROM members_auditentry"),
    ):
        with pytest.raises(DatabaseError, match=REFUSED), transaction.atomic():
            delete()
    assert AuditEntry.objects.count() == 1


def test_erasing_a_person_takes_their_references_and_words_and_leaves_the_deed(entry, people):
    AuditEntry.objects.filter(pk=entry.pk).update(member=None, why="", details={})
    Membership.objects.filter(pk=people.ana.pk).delete()
    entry.refresh_from_db()
    assert (entry.what, entry.subject, entry.by) == (
        "correct-result", "Two ladders and a tide", people.coach,
    )  # fmt: skip
    assert entry.member is None and entry.why == "" and entry.details == {}
