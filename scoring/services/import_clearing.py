"""An import's words are not kept for good."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction

from members.models import Membership
from scoring.core.name_book import fold
from scoring.models import ImportLine, ImportRun

KEPT_DAYS = 30
States = ImportLine.State


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
            run.lines.update(
                text="", name="", note="", cells={}, mended={}, answers={}, candidates=[],
                doubts=[],
            )  # fmt: skip
            run.digest, run.cleared_at = "", now
            if run.state == ImportRun.State.CHECKING:
                run.state = ImportRun.State.DONE
            run.save(update_fields=["digest", "cleared_at", "state"])
            done += 1
    return done


def forget_in_imports(own: Sequence[Membership]) -> None:
    """Take what may be about somebody out of what was brought into their gyms.

    Lines that were understood as theirs go with their membership. Here go those that were
    not, chatter above all, but for lines whose owner is known and that don't name them.
    """
    words = {m.gym_id: {w for n in own for w in fold(n.display_name).split()} for m in own}
    lines = ImportLine.objects.filter(run__gym__in=words).exclude(text="", mended={}, cells={})
    gone = []
    for line in lines.select_related("run").iterator():
        said = [line.text, line.note, line.name, *map(str, line.mended.values())]
        said += map(str, line.cells.values())
        if words[line.run.gym_id] & set(fold(" ".join(said)).split()):
            gone.append(line.pk)
    told = ImportLine.objects.filter(pk__in=gone)
    told.filter(fact=None).delete()
    told.update(
        text="", name="", note="", cells={}, mended={}, answers={}, candidates=[], doubts=[],
        remarks=[],
    )  # fmt: skip
