"""What options have been worth, beside what they are credited with."""

from __future__ import annotations

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import CoachView
from scoring.core.estimation.worth import SELECTION, two
from scoring.selectors.fairness import Row, fairness

from . import shapes_fairness as shapes


def _told(row: Row) -> dict[str, object]:
    worth = row.worth
    return {
        "movement": row.movement,
        "option": row.label,
        "against": worth.against.label,
        "credit": two(worth.credit),
        "worth": f"{worth.median:.3f}",
        "low": f"{worth.low:.3f}",
        "high": f"{worth.high:.3f}",
        "results": worth.results,
        "is_early": worth.is_early,
        "suggestion": row.suggested,
        "by_table": row.by_table,
        "written": [
            {"credit": each.credit, "classes": each.classes, "suggestion": each.suggested}
            for each in row.written
        ],
        "words": row.words,
        "verdict": row.verdict,
        "remark": row.remark,
    }


class Fairness(CoachView):
    """What options have been worth."""

    @extend_schema(operation_id="credits_fairness", responses=shapes.FairnessShape)
    def get(self, request: Request) -> Response:
        """What each option and load used has been worth, with the changes that are clear.

        Nothing changes by itself: send a suggestion to the changes of credits, look at who
        would move, and accept it or not (coaches).
        """
        found = fairness(viewer=self.viewer)
        if found is None:
            raise Http404
        return Response(
            shapes.FairnessShape(
                {
                    "made_at": found.made_at,
                    "results": found.results,
                    "until": found.until,
                    "selection": SELECTION,
                    "may_change": found.may_change,
                    "unused": found.unused,
                    "options": [
                        _told(row) for movement in found.movements for row in movement.rows
                    ],
                }
            ).data
        )
