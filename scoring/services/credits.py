"""A gym's credit tables: each change is a new version."""

from __future__ import annotations

from django.db import transaction
from django.db.models import Max

from members.models import Gym, Membership
from scoring.core.credits import CreditTable
from scoring.models import CreditTableVersion


def current_table(*, gym: Gym) -> CreditTableVersion:
    """The gym's newest credit table; its first is made here, with the usual figures."""
    newest = CreditTableVersion.objects.filter(gym=gym).order_by("-version").first()
    return newest or new_table(gym=gym, table=CreditTable(), by=None, reason="the usual figures")


@transaction.atomic
def new_table(
    *, gym: Gym, table: CreditTable, by: Membership | None, reason: str
) -> CreditTableVersion:
    """Add the next version of a gym's credit table."""
    Gym.objects.select_for_update().get(pk=gym.pk)
    last = CreditTableVersion.objects.filter(gym=gym).aggregate(last=Max("version"))["last"] or 0
    rules = {**table.to_dict(), "version": last + 1}
    return CreditTableVersion.objects.create(
        gym=gym, version=last + 1, rules=rules, reason=reason, created_by=by
    )
