"""Sessions in the database, read by a statement written out (see ``members/plain.py``)."""

from __future__ import annotations

from functools import cache
from typing import Any

from django.contrib.sessions.backends import db
from django.utils import timezone

from members.plain import Plain, moment


class SessionStore(db.SessionStore):
    """Django's own, but for how a session is read."""

    def _get_session_from_db(self) -> Any:
        found = _live().rows([self.session_key, moment(timezone.now())])
        if not found:
            self._session_key = None
            return None
        return found[0]


@cache
def _live() -> Plain[Any]:
    # The model can't be had while the settings are read.
    kept = db.SessionStore.get_model_class()
    return Plain(kept, "of.session_key = %s AND of.expire_date > %s")
