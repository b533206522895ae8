"""When a member changes name, or how they are shown, every board with them has changed."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import F

from members.models import Membership
from scoring import boards
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
    with transaction.atomic():
        shown_on = StreamedClass.objects.filter(results__member=instance)
        shown_on.update(board_version=F("board_version") + 1)
        versions = list(shown_on.values_list("pk", "board_version"))
        transaction.on_commit(lambda: _moved_on(versions))


def _moved_on(versions: list[tuple[int, int]]) -> None:
    """No score has changed, so a board that is kept elsewhere need not be derived anew."""
    for class_id, version in versions:
        boards.store().moved_on(class_id, version=version)
