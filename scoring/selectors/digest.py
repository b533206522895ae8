"""What a coach needs to know when a class has closed: how it went, what waits for them."""

from __future__ import annotations

from dataclasses import dataclass

from members.models import Membership
from scoring import access
from scoring.models import ChangeRequest, Pain, Score, StreamedClass

from .classes import usual_members


@dataclass(frozen=True, slots=True)
class Digest:
    """A class in a sentence or two, and what waits for its coach, a line each.

    Nobody is named and no effort told: it goes out by e-mail.
    """

    summary: str
    waiting: tuple[str, ...]


def digest(*, streamed_class: StreamedClass, viewer: access.Viewer) -> Digest | None:
    """For coaches of the class; ``None`` for others."""
    if not access.may_manage(viewer, streamed_class):
        return None
    scores = list(
        Score.objects.filter(streamed_class=streamed_class).values_list(
            "result__member", "as_prescribed"
        )
    )
    return Digest(_summary(scores), tuple(_waiting(streamed_class, {pk for pk, _ in scores})))


def _summary(scores: list[tuple[int, bool]]) -> str:
    if not scores:
        return "Nobody logged a result."
    written = sum(as_prescribed for _, as_prescribed in scores)
    return f"{_people(len(scores))} logged, {written or 'none'} of them as prescribed."


def _waiting(streamed_class: StreamedClass, logged: set[int]) -> list[str]:
    told = []
    if hurt := Pain.objects.filter(streamed_class=streamed_class).count():
        told.append(f"{_people(hurt)} said that something hurts: look at this first")
    asked = ChangeRequest.objects.filter(
        streamed_class=streamed_class, answer=ChangeRequest.Answer.WAITING
    ).count()
    if asked:
        told.append(f"{asked} request{'' if asked == 1 else 's'} for a change wait for an answer")
    still = Membership.objects.filter(pk__in=usual_members(streamed_class) - logged, left_at=None)
    if missing := still.count():
        told.append(f"{_people(missing)} who usually come logged nothing")
    return told


def _people(number: int) -> str:
    return "1 member" if number == 1 else f"{number} members"
