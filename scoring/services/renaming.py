"""When a member changes name, or how they are shown, every board with them has changed."""

from __future__ import annotations

from typing import Any

from django.db.models import F

from members.models import Membership
from scoring.models import StreamedClass

_SHOWN = {"display_name", "shown_as"}


def boards_show_another_name(
    sender: type[Membership],
    instance: Membership,
    created: bool = False,
    update_fields: frozenset[str] | None = None,
    **kwargs: Any,
) -> None:
    """Count up the versions of a member's boards, or a browser would keep the old name.

    Heard from ``members`` by Django's signal, since ``members`` knows nothing of boards.
    """
    if created or (update_fields is not None and not _SHOWN & set(update_fields)):
        return
    StreamedClass.objects.filter(results__member=instance).update(
        board_version=F("board_version") + 1
    )
