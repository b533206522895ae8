"""Who is looking, and what of the gym's they may open."""

from __future__ import annotations

from django.http import Http404

from members.models import Membership
from members.viewer import coaches_only, members_only
from scoring import access
from scoring.models import StreamedClass
from scoring.selectors.classes import class_alone, class_for

__all__ = ["class_alone_or_404", "class_or_404", "class_to_manage", "coaches_only", "members_only"]


def class_or_404(viewer: Membership, pk: int) -> StreamedClass:
    """A class that the viewer may see; what they may not see is not there."""
    found = class_for(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def class_alone_or_404(viewer: Membership, pk: int) -> StreamedClass:
    """The same with its workout and nothing else, for what is asked for most often."""
    found = class_alone(viewer=viewer, pk=pk)
    if found is None:
        raise Http404
    return found


def class_to_manage(viewer: Membership, pk: int) -> StreamedClass:
    """A class that the viewer coaches; any other is not there."""
    found = class_or_404(viewer, pk)
    if not access.may_manage(viewer, found):
        raise Http404
    return found
