"""Starting background work, on commit only."""

from functools import partial

from django.db import transaction

from . import tasks


def recompute(*, class_id: int) -> None:
    """Recompute a class's board once the current transaction is committed."""
    transaction.on_commit(partial(tasks.recompute.delay, class_id))
