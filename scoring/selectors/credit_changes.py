"""Changes of credits as they are shown: what, which classes, how far, and to whom it told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, F, Q, QuerySet, Sum

from members.plain import Plain
from scoring import access
from scoring.core.credit_changes import changed, entry_of, set_back
from scoring.core.credits import CreditTable
from scoring.core.scoring import Rules, score
from scoring.mapping import core_result, course_of
from scoring.models import ChangedClass, CreditChange, RecomputeRun, Result

from .credits import Told, newest, told_step, told_steps


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a change is, in classes and in results.

    While it is looked at ``classes_done`` counts classes looked at, later those recomputed.
    """

    classes: int
    classes_done: int
    results: int
    results_done: int
    scores_moved: int
    ranks_moved: int
    classes_moved: int


def changes_for(*, viewer: access.Viewer) -> QuerySet[CreditChange]:
    """The gym's changes of credits, previews too, the newest first; none for members."""
    if viewer is None or not access.may_manage_gym(viewer):
        return CreditChange.objects.none()
    return CreditChange.objects.filter(gym=viewer.gym_id).select_related(
        "gym", "by", "from_version", "to_version", "undoes__to_version", "undoes__from_version"
    )


def change_for(*, viewer: access.Viewer, pk: int) -> CreditChange | None:
    """One change, ``None`` if there is none the viewer may see."""
    return changes_for(viewer=viewer).filter(pk=pk).first()


def tables_of(change: CreditChange) -> tuple[CreditTable, CreditTable]:
    """The tables before and after a change."""
    old = CreditTable.from_dict(change.from_version.rules)
    if change.to_version is not None:
        return old, CreditTable.from_dict(change.to_version.rules)
    return old, changed(old, [entry_of(each) for each in change.entries])


def steps_of(change: CreditChange) -> tuple[Told, ...]:
    """What a change sets, from what to what."""
    return told_steps(*tables_of(change))


def conflicts_of(change: CreditChange) -> tuple[Told, ...]:
    """Of an undo: what a later change set again, so that it stays."""
    undone = change.undoes
    if undone is None:
        return ()
    now = CreditTable.from_dict(change.from_version.rules)
    before, after = tables_of(undone)
    return tuple(told_step(step, after, now) for step in set_back(before, after, now)[1])


def progress_of(change: CreditChange) -> Progress:
    """How far a change is; two queries."""
    is_accepted = change.to_version_id is not None
    is_done = Q(done_at__isnull=False) if is_accepted else Q(board_version__isnull=False)
    found = change.classes.aggregate(
        n_classes=Count("pk"),
        n_classes_done=Count("pk", filter=is_done),
        n_results=Sum("results"),
        n_results_done=Sum("results", filter=is_done),
        n_scores=Sum("scores_moved"),
        n_ranks=Sum("ranks_moved"),
        n_moved=Count("pk", filter=Q(scores_moved__gt=0)),
    )
    done = found["n_results_done"] or 0
    if change.state == CreditChange.State.WORKING:
        left = change.classes.filter(done_at=None).values("streamed_class")
        runs = RecomputeRun.objects.filter(
            finished_at=None, streamed_class__in=left, started_at__gte=change.accepted_at
        )
        done += runs.aggregate(done=Sum("done"))["done"] or 0
    results = found["n_results"] or 0
    return Progress(
        found["n_classes"], found["n_classes_done"], results, min(done, results),
        found["n_scores"] or 0, found["n_ranks"] or 0, found["n_moved"],
    )  # fmt: skip


def is_stale(change: CreditChange) -> bool:
    """Whether credits or results changed since a preview was worked out."""
    if change.state != CreditChange.State.SHOWN:
        return False
    table = newest(change.gym)
    if table is None or table.pk != change.from_version_id:
        return True
    return change.classes.exclude(board_version=F("streamed_class__board_version")).exists()


def undone_by(change: CreditChange) -> CreditChange | None:
    """The change that undid this one, if one did."""
    return change.undone_by.filter(to_version__isnull=False).first()


def classes_of(change: CreditChange) -> QuerySet[ChangedClass]:
    """The classes a change concerns: where most scores move first, then the newest."""
    return change.classes.select_related(
        "streamed_class__workout", "from_table", "to_table"
    ).order_by(F("scores_moved").desc(nulls_first=True), "-streamed_class__starts_at", "pk")


def names_of(*, viewer: access.Viewer, result_ids: list[int]) -> dict[int, str]:
    """Names of members by result, as the viewer sees them."""
    rows = Result.objects.filter(pk__in=result_ids).select_related("member")
    return {row.pk: access.shown_name(viewer, row.member) for row in rows}


@dataclass(frozen=True, slots=True)
class CreditsOfResult:
    """By which credits a result counts; ``at`` and ``reason`` of the last change that moved
    scores of its board, with the adjusted mark before it if that was another."""

    version: int
    at: datetime | None = None
    reason: str = ""
    before: str = ""


# Asked for by everybody who has just logged.
_LAST_CHANGE = Plain(
    ChangedClass,
    "of.streamed_class_id = %s AND of.done_at IS NOT NULL AND of.moved > 0 "
    "ORDER BY of.done_at DESC, of.id DESC LIMIT 1",
    joined=("change", "from_table"),
)


def credits_of_result(*, result: Result, viewer: access.Viewer) -> CreditsOfResult | None:
    """By which credits a result counts and since when; ``None`` for who may not see it."""
    if not access.may_see_result(viewer, result):
        return None
    streamed, fact = result.streamed_class, result.current
    version = streamed.credit_table.version
    changes = _LAST_CHANGE.rows([streamed.pk])
    kept = getattr(result, "score", None)
    if not changes or fact is None or kept is None:
        return CreditsOfResult(version)
    [row] = changes
    course = course_of(streamed)
    rules = Rules(
        CreditTable.from_dict(row.from_table.rules), streamed.above_one, streamed.tie_break_block
    )
    before = score(course, core_result(course, fact), rules).adjusted.text
    return CreditsOfResult(
        version, row.done_at, row.change.reason, "" if before == kept.adjusted_text else before
    )
