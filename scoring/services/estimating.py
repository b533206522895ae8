"""Working out what a gym's results teach, and keeping it as a snapshot."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from typing import Any

import numpy as np
import scipy
from django.db import InterfaceError, OperationalError, transaction

from members.models import Gym
from scoring.core.estimation.assumptions import MODEL_VERSION
from scoring.core.estimation.estimate import Convergence, Estimate, prior
from scoring.core.estimation.fit import fit
from scoring.core.estimation.forgetting import without
from scoring.core.estimation.gather import Gathered
from scoring.core.estimation.packing import FORMAT, packed
from scoring.core.estimation.ways import Ints
from scoring.core.scoring import RULES_VERSION
from scoring.models import EstimateRun, EstimateSnapshot

from .estimate_reading import Read, fingerprint, read, somebody_in
from .estimate_runs import Lost, fail, finish, get_on, take

logger = logging.getLogger(__name__)

State = EstimateRun.State

KEPT = 30
"""Snapshots of a gym that are kept; older ones only where a forecast refers to them."""

CODE = f"format {FORMAT}, numpy {np.__version__}, scipy {scipy.__version__}"
"""What else could change a byte."""


def estimate(*, gym_id: int, clock: Callable[[], datetime]) -> EstimateRun | None:
    """Work a gym's waiting estimate out, whole; ``None`` where none waits.

    Where nothing changed since the last one, none is made. A run that died is begun anew;
    nothing of it counts before its snapshot is written, with the end of the run, at once.
    """
    run = take(gym_id=gym_id, now=clock())
    if run is None:
        return None
    try:
        _work(run, clock)
    except Lost:
        logger.warning("%s went to another worker", run)
    except (OperationalError, InterfaceError):
        raise  # the database was away: the run is free in a while, and begun anew
    except Exception:
        logger.exception("%s failed", run)
        fail(run=run, why="The program met a fault; it is in its log.", now=clock())
    run.refresh_from_db()
    return run


def _work(run: EstimateRun, clock: Callable[[], datetime]) -> None:
    last = EstimateSnapshot.objects.filter(gym=run.gym_id).order_by("-pk").first()
    if last is not None and _is_ours(last) and last.fingerprint == fingerprint(gym=run.gym):
        finish(run=run, state=State.UNCHANGED, now=clock())
        return
    found = read(
        gym=run.gym,
        told=lambda done, total: get_on(run=run, now=clock(), done=done, total=total),
    )
    if last is None and not len(found.gathered.rows):
        finish(run=run, state=State.UNCHANGED, now=clock(), why="There are no results yet.")
        return
    get_on(run=run, now=clock(), state=State.FITTING)
    ways, rows = found.gathered.ways, found.gathered.rows
    fitted = fit(ways, rows) if len(rows) else prior(ways)
    with transaction.atomic():
        # An erasure holds the gym too: it comes before this, or finds the new snapshot.
        Gym.objects.select_for_update().get(pk=run.gym_id)
        now = clock()
        finish(run=run, state=State.GOOD, now=now)
        _keep(run, found, fitted, now)


def _is_ours(row: EstimateSnapshot) -> bool:
    """Whether a snapshot was made by this very program."""
    made_by = row.rules_version, row.model_version, row.code
    return made_by == (RULES_VERSION, MODEL_VERSION, CODE)


def _keep(run: EstimateRun, found: Read, fitted: Estimate, now: datetime) -> None:
    """Write a snapshot, without what it holds of people who are erased."""
    gathered = found.gathered
    gone = ~np.isin(gathered.members, sorted(somebody_in(run.gym)))
    if gone.any():
        theirs = np.flatnonzero(gone[gathered.rows.member])
        fitted = without(fitted, np.flatnonzero(gone).tolist(), theirs.tolist())
    EstimateSnapshot.objects.create(
        run=run,
        gym_id=run.gym_id,
        fingerprint=found.fingerprint,
        rules_version=RULES_VERSION,
        model_version=MODEL_VERSION,
        code=CODE,
        made_at=now,
        until=found.until,
        result_count=_telling(gathered),
        member_count=len(gathered.members),
        class_count=len(gathered.classes),
        left_out=gathered.left_out + found.unreadable,
        silent=gathered.silent,
        converged=fitted.convergence.converged,
        convergence=in_words(fitted.convergence),
        figures=packed(fitted),
        members=keys(np.where(gone, 0, gathered.members)),
        classes=keys(gathered.classes),
        results=keys(gathered.results),
    )
    _drop_old(run.gym_id)


def _telling(gathered: Gathered) -> int:
    """Results that something was learned from: those with a rep done."""
    return len(np.unique(gathered.rows.result))


def keys(values: Ints) -> bytes:
    """Primary keys by position, as a snapshot keeps them."""
    return values.astype("<i8").tobytes()


def in_words(convergence: Convergence) -> str:
    """Whether the figures are settled, for a coach."""
    if convergence.converged:
        return "The figures are settled: going on would not change them."
    return (
        "The figures are not settled yet: going on, one of them would still move by about "
        f"{max(convergence.gradient, 0.01):.0%} of what it may be off by anyway. Take them with "
        "care."
    )


def _drop_old(gym_id: int) -> None:
    """Drop snapshots that are old and that nothing refers to."""
    rows = EstimateSnapshot.objects.filter(gym=gym_id).order_by("-pk")
    newest = list(rows.values_list("pk", flat=True)[:KEPT])
    old = rows.exclude(pk__in=newest)
    relations: list[Any] = EstimateSnapshot._meta.get_fields(include_hidden=True)
    for relation in relations:
        if relation.auto_created and (relation.one_to_many or relation.one_to_one):
            name = relation.field.attname
            rows = relation.related_model.objects.exclude(**{name: None})
            old = old.exclude(pk__in=rows.values(name))
    EstimateRun.objects.filter(pk__in=list(old.values_list("run", flat=True))).delete()
