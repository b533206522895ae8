"""The audit trail: corrections, rights and everything else done in a gym's name.

Services call ``record`` inside their own transaction, so a deed and its entry stand or fall
together. Nothing changes an entry afterwards; see ``AuditEntry``.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from members.models import AuditEntry, Gym, Membership

SUBJECT_LENGTH = 200
WHY_LENGTH = 500


def record(
    *,
    gym: Gym,
    by: Membership | None,
    what: str,
    now: datetime,
    member: Membership | None = None,
    subject: str = "",
    subject_key: str = "",
    why: str = "",
    details: Mapping[str, object] | None = None,
) -> AuditEntry:
    """Note a deed.

    Parameters
    ----------
    by
        Who did it; ``None`` is the service itself, at a set time.
    what
        The deed in a few words with dashes, ``correct-result``.
    member
        Whom it is about. Their name must not stand in ``subject``, ``why`` or ``details``
        by our doing: it is looked up, and is gone when they are erased.
    subject
        What it is about in words, such as the title of a class.
    subject_key
        Which row it is, ``class 12``, for a link.
    details
        Plain values that JSON can hold, such as ``{"from": …, "to": …}``.
    """
    return AuditEntry.objects.create(
        gym=gym,
        at=now,
        by=by,
        what=what,
        member=member,
        subject=subject[:SUBJECT_LENGTH],
        subject_key=subject_key,
        why=why[:WHY_LENGTH],
        details=dict(details or {}),
    )
