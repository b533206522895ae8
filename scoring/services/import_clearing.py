"""An import's words are not kept for good."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from members.models import Membership
from scoring.core.name_book import fold
from scoring.models import ImportLine, ImportRun

KEPT_DAYS = 30
States = ImportLine.State
WORDLESS: dict[str, Any] = {
    "text": "", "name": "", "note": "", "cells": {}, "mended": {}, "answers": {},
    "candidates": [], "doubts": [],
}  # fmt: skip


def clear_texts(*, now: datetime) -> int:
    """Take the words out of imports older than ``KEPT_DAYS``; how many those were.

    Lines that brought nothing in go. The others keep whose they are and which fact they
    made, so that they can still be taken back.
    """
    old = ImportRun.objects.filter(
        started_at__lte=now - timedelta(days=KEPT_DAYS),
        cleared_at=None,
        state__in=(ImportRun.State.CHECKING, ImportRun.State.DONE, ImportRun.State.UNDONE),
    )
    done = 0
    for pk in old.values_list("pk", flat=True):
        with transaction.atomic():
            run = old.select_for_update().filter(pk=pk).first()
            if run is None:
                continue
            made = (States.SAVED, States.UNDONE, States.LEFT)
            run.lines.exclude(state__in=made).delete()
            run.lines.update(**WORDLESS)
            run.digest, run.cleared_at = "", now
            if run.state == ImportRun.State.CHECKING:
                run.state = ImportRun.State.DONE
            run.save(update_fields=["digest", "cleared_at", "state"])
            done += 1
    return done


def forget_in_imports(own: Iterable[Membership]) -> None:
    """Take what may be about somebody out of what was brought into their gyms.

    Lines that were understood as theirs go with their membership. Here go those of nobody,
    chatter above all, in which any part of their name stands, and the words of others' lines
    that name them in full.
    """
    names: dict[int, set[str]] = {}
    for membership in own:
        names.setdefault(membership.gym_id, set()).add(fold(membership.display_name))
    lines = ImportLine.objects.filter(run__gym__in=names).select_related("run")
    gone = [line.pk for line in lines.iterator() if _names(line, names[line.run.gym_id])]
    told = ImportLine.objects.filter(pk__in=gone)
    told.filter(fact=None).delete()
    told.update(**WORDLESS, remarks=[])


def _names(line: ImportLine, names: set[str]) -> bool:
    said = [line.text, line.note, line.name, *line.mended.values(), *line.cells.values()]
    text = fold(" ".join(map(str, said)))
    if line.member_id is not None:
        return any(f" {name} " in f" {text} " for name in names)
    parts = {word for name in names for word in name.split() if len(word) > 1}
    return bool(parts & set(text.split()))
