"""A gym's credits: the table, its versions, changing it and undoing that."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, Asked, CoachView, page_of, paged
from members.models import Membership
from scoring import enqueue
from scoring.models import ChangedClass, CreditChange
from scoring.selectors import credit_changes as found
from scoring.selectors.credits import OptionRow, Told, sheet, versions
from scoring.services.credit_changes import (
    EntryInput,
    accept,
    look_anew,
    propose,
    propose_undo,
    seen_of,
)
from scoring.services.credit_classes import table_of
from scoring.services.credit_moves import Move, class_moves

from . import shapes_credits as shapes


def _step(step: Told) -> dict[str, object]:
    return {
        "movement": step.movement,
        "option": step.option,
        "old": step.old or None,
        "new": step.new or None,
    }


def _option(row: OptionRow) -> dict[str, object]:
    return {
        "movement": row.movement,
        "option": row.option,
        "credit": row.credit,
        "credit_from": row.source,
        "is_in_table": row.is_in_table,
        "on_board": [{"credit": credit, "classes": count} for credit, count in row.on_board],
        "is_idle": row.is_idle,
        "used": row.used,
        "last_used_at": row.last,
    }


def _told(change: CreditChange) -> dict[str, Any]:
    undone = found.undone_by(change)
    return dict(
        shapes.CreditChangeShape(
            {
                "id": change.pk,
                "state": change.state,
                "scope": change.scope,
                "reason": change.reason,
                "by": change.by.display_name if change.by else "",
                "asked_at": change.asked_at,
                "accepted_at": change.accepted_at,
                "finished_at": change.finished_at,
                "from_version": change.from_version.version,
                "to_version": change.to_version.version if change.to_version else None,
                "undoes": change.undoes_id,
                "undone_by": undone.pk if undone else None,
                "steps": [_step(step) for step in found.steps_of(change)],
                "conflicts": [_step(step) for step in found.conflicts_of(change)],
                "progress": found.progress_of(change),
                "is_stale": found.is_stale(change),
                "seen": seen_of(change) if change.state == CreditChange.State.SHOWN else None,
            }
        ).data
    )


def change_or_404(viewer: Membership, pk: int) -> CreditChange:
    """A change of the viewer's gym."""
    change = found.change_for(viewer=viewer, pk=pk)
    if change is None:
        raise Http404
    return change


def _answer(viewer: Membership, pk: int, status: int = 200) -> Response:
    return Response(_told(change_or_404(viewer, pk)), status=status)


class Credits(CoachView):
    """The credit table."""

    @extend_schema(
        operation_id="credits", parameters=[shapes.QueryAsked], responses=shapes.CreditsShape
    )
    def get(self, request: Request) -> Response:
        """Every option with what it counts and how often it was used (coaches)."""
        asked = shapes.QueryAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        shown = sheet(viewer=self.viewer, query=asked.validated_data["q"])
        assert shown is not None  # asked by a coach
        told = {
            "version": shown.version.version if shown.version else None,
            "may_change": shown.may_change,
            "figures": [
                {"name": name, "value": value, "meaning": words}
                for name, value, words in shown.figures
            ],
            "options": [_option(row) for each in shown.movements for row in each.options],
        }
        return Response(shapes.CreditsShape(told).data)


class CreditVersions(CoachView):
    """The versions of the credit table."""

    @extend_schema(
        operation_id="credit_versions",
        parameters=[Asked],
        responses=page_of(shapes.CreditVersionShape),
    )
    def get(self, request: Request) -> Response:
        """Every version, the newest first: who, when, why, from what to what (coaches)."""

        def told(rows: list[Any]) -> Any:
            data = [
                {
                    "version": row.number,
                    "made_at": row.at,
                    "by": row.by,
                    "reason": row.reason,
                    "change": row.change,
                    "steps": [_step(step) for step in row.steps],
                }
                for row in rows
            ]
            return shapes.CreditVersionShape(data, many=True).data

        return paged(self, versions(viewer=self.viewer), told)


class CreditChanges(CoachView):
    """Changes of credits."""

    @extend_schema(
        operation_id="credit_changes",
        parameters=[Asked],
        responses=page_of(shapes.CreditChangeShape),
    )
    def get(self, request: Request) -> Response:
        """Changes of credits, previews too, the newest first (coaches)."""
        changes = found.changes_for(viewer=self.viewer)
        return paged(self, changes, lambda rows: [_told(row) for row in rows])

    @extend_schema(
        operation_id="credit_change_make",
        request=shapes.CreditChangeIn,
        responses={201: shapes.CreditChangeShape, **REFUSED},
    )
    def post(self, request: Request) -> Response:
        """Ask for a change and see who would move; no board changes until it is accepted."""
        sent = self.read(shapes.CreditChangeIn)
        entries = [
            EntryInput(each["movement"], each["option"], each["credit"], f"entries.{number}.credit")
            for number, each in enumerate(sent["entries"])
        ]
        change = propose(
            gym=self.viewer.gym,
            by=self.viewer,
            entries=entries,
            reason=sent["reason"],
            scope=sent["scope"],
            now=timezone.now(),
        )
        enqueue.credit_change(pk=change.pk)
        return _answer(self.viewer, change.pk, 201)


class CreditChangeOne(CoachView):
    """One change of credits."""

    @extend_schema(operation_id="credit_change", responses=shapes.CreditChangeShape)
    def get(self, request: Request, pk: int) -> Response:
        """What a change sets, how far it is and who moves in all (coaches)."""
        return _answer(self.viewer, pk)


class CreditChangeClasses(CoachView):
    """The classes a change concerns."""

    @extend_schema(
        operation_id="credit_change_classes",
        parameters=[Asked],
        responses=page_of(shapes.ChangedClassShape),
    )
    def get(self, request: Request, pk: int) -> Response:
        """What a change does to each class, where most moves first (coaches)."""

        def told(rows: list[ChangedClass]) -> Any:
            data = [
                {
                    "class": row.streamed_class_id,
                    "title": row.streamed_class.workout.title,
                    "starts_at": row.streamed_class.starts_at,
                    "from_version": row.from_table.version,
                    "results": row.results,
                    "scores_moved": row.scores_moved,
                    "ranks_moved": row.ranks_moved,
                    "done_at": row.done_at,
                }
                for row in rows
            ]
            return shapes.ChangedClassShape(data, many=True).data

        return paged(self, found.classes_of(change_or_404(self.viewer, pk)), told)


class CreditChangeMoves(CoachView):
    """Who moves on one board."""

    @extend_schema(
        operation_id="credit_change_moves",
        parameters=[Asked],
        responses=page_of(shapes.MoveShape),
    )
    def get(self, request: Request, pk: int, class_pk: int) -> Response:
        """Whose score or rank differs in a class by a change, by new rank (coaches)."""
        change = change_or_404(self.viewer, pk)
        row = found.classes_of(change).filter(streamed_class=class_pk).first()
        if row is None:
            raise Http404
        moved = class_moves(
            streamed_class=row.streamed_class,
            old=table_of(row.from_table),
            new=table_of(row.to_table) if row.to_table else found.tables_of(change)[1],
            is_done=row.done_at is not None,
        ).moved

        def told(rows: list[Move]) -> Any:
            names = found.names_of(viewer=self.viewer, result_ids=[r.result_id for r in rows])
            data = [
                {
                    "result": move.result_id,
                    "name": names.get(move.result_id, ""),
                    "old_rank": move.old_rank,
                    "new_rank": move.new_rank,
                    "old_adjusted": move.old_adjusted,
                    "new_adjusted": move.new_adjusted,
                }
                for move in rows
            ]
            return shapes.MoveShape(data, many=True).data

        return paged(self, list(moved), told)


class CreditChangeAccept(CoachView):
    """Accepting a change."""

    @extend_schema(
        operation_id="credit_change_accept",
        request=shapes.SeenIn,
        responses={200: shapes.CreditChangeShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Make the new version and count the boards again, one class after the other.

        409 if results or credits changed so that the preview would say otherwise: read it
        again. Accepting twice is accepting once.
        """
        change = change_or_404(self.viewer, pk)
        seen = self.read(shapes.SeenIn)["seen"]
        try:
            accept(change=change, by=self.viewer, seen=seen, now=timezone.now())
        finally:  # a preview that became untrue is worked out anew
            enqueue.credit_change(pk=pk)
        return _answer(self.viewer, pk)


class CreditChangeAnew(CoachView):
    """Working a preview out again."""

    @extend_schema(
        operation_id="credit_change_anew",
        request=None,
        responses={200: shapes.CreditChangeShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Work out who would move from the credits and results as they are now."""
        change = change_or_404(self.viewer, pk)
        look_anew(change=change, by=self.viewer, now=timezone.now())
        enqueue.credit_change(pk=pk)
        return _answer(self.viewer, pk)


class CreditChangeGoOn(CoachView):
    """Going on with a change that was left."""

    @extend_schema(
        operation_id="credit_change_go_on", request=None, responses=shapes.CreditChangeShape
    )
    def post(self, request: Request, pk: int) -> Response:
        """Take a change up again whose work stopped; needless, and harmless, while it runs."""
        change_or_404(self.viewer, pk)
        enqueue.credit_change(pk=pk)
        return _answer(self.viewer, pk)


class CreditChangeUndo(CoachView):
    """Undoing a change."""

    @extend_schema(
        operation_id="credit_change_undo",
        request=shapes.CreditReasonIn,
        responses={201: shapes.CreditChangeShape, **REFUSED},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Ask for the change that sets this one's entries back; it is accepted as any is."""
        change = change_or_404(self.viewer, pk)
        reason = self.read(shapes.CreditReasonIn)["reason"]
        undo = propose_undo(change=change, by=self.viewer, reason=reason, now=timezone.now())
        enqueue.credit_change(pk=undo.pk)
        return _answer(self.viewer, undo.pk, 201)
