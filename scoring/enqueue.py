"""Starting background work, on commit only."""

from functools import partial

from django.db import transaction

from . import tasks


def recompute(*, class_id: int) -> None:
    """Recompute a class's board once the current transaction is committed."""
    transaction.on_commit(partial(tasks.recompute.delay, class_id))


def make_export(*, pk: int) -> None:
    """Make a copy of somebody's data once the asking is committed."""
    transaction.on_commit(partial(tasks.make_export.delay, pk))


def tell_erasure_asked(*, pk: int, site: str) -> None:
    """Tell somebody by e-mail, once it is committed, that they asked to be erased."""
    transaction.on_commit(partial(tasks.tell_erasure_asked.delay, pk, site))
