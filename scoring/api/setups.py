"""My gear and habits, and what they make of a class."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from members.api.base import REFUSED, MemberView
from scoring.selectors.setups import setup_for, version_for
from scoring.services.setups import save_setup

from . import shapes_setup as shapes
from .classes import class_or_404


class MySetup(MemberView):
    """What I have at home and usually take."""

    def _told(self) -> Response:
        row = setup_for(member=self.viewer, viewer=self.viewer)
        told = {
            "has_told_gear": bool(row and row.has_told_gear),
            "pieces": row.pieces if row else [],
            "loads": {piece: ", ".join(w) for piece, w in row.loads.items()} if row else {},
            "usual": row.usual if row else {},
            "unit": row.unit if row else "kg",
        }
        return Response(shapes.SetupShape(told).data)

    @extend_schema(operation_id="me_gear", responses=shapes.SetupShape)
    def get(self, request: Request) -> Response:
        """My gear, weights and habits."""
        return self._told()

    @extend_schema(
        operation_id="me_gear_keep",
        request=shapes.SetupIn,
        responses={200: shapes.SetupShape, **REFUSED},
    )
    def put(self, request: Request) -> Response:
        """Keep my gear, weights and habits, whole: what is left out is gone."""
        save_setup(member=self.viewer, **self.read(shapes.SetupIn))
        return self._told()


class MyVersion(MemberView):
    """A class as it fits me."""

    @extend_schema(operation_id="class_mine", responses=shapes.FitShape(many=True))
    def get(self, request: Request, pk: int) -> Response:
        """My version of a class: for each line the way that fits my gear and habits."""
        streamed = class_or_404(self.viewer, pk)
        fits = version_for(streamed_class=streamed, member=self.viewer)
        return Response(shapes.FitShape(shapes.fits_told(streamed, fits), many=True).data)
