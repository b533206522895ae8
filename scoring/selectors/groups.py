"""Whom a forecast is for: who usually comes, everybody, or people picked by name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.db.models import Exists, OuterRef, Q, QuerySet

from members.models import Gym, Membership, Role
from scoring import access
from scoring.models import Score, StreamedClass
from scoring.problems import Item, Refused

from .usual import usual

MOST = 500
"""So many members are forecast at once; of more the first by key."""

TOO_FEW = (
    "Too few classes were held before to tell who usually comes, so this is for everybody who "
    "belongs to the gym."
)
EVERYBODY = "This is for everybody who belongs to the gym, and coaches only if they log."
PICKED = "This is for the people you picked."


class Who(StrEnum):
    """How a group is chosen."""

    USUAL = "usual"
    EVERYBODY = "everybody"
    PICKED = "picked"


@dataclass(frozen=True, slots=True)
class Wanted:
    """The group asked for; ``members`` are keys of memberships, for people picked."""

    who: Who = Who.USUAL
    members: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """Whom a forecast is for, and by what rule."""

    members: tuple[int, ...]
    rule: str


def group_for(*, gym: Gym, starts_at: datetime, wanted: Wanted | None = None) -> Group:
    """Who usually comes at that time, if nobody else is asked for; where too few classes
    tell, everybody.

    Raises ``Refused`` for picked keys that are nobody's at this gym.
    """
    wanted = wanted or Wanted()
    if wanted.who is Who.PICKED:
        return Group(_picked(gym, wanted.members), PICKED)
    everybody = tuple(everybody_at(gym).values_list("pk", flat=True)[:MOST])
    if wanted.who is Who.EVERYBODY:
        return Group(everybody, EVERYBODY)
    found = usual(StreamedClass(gym=gym, starts_at=starts_at))
    here = Membership.objects.filter(gym=gym, left_at__isnull=True).order_by("pk")
    members = tuple(here.filter(pk__in=found.members).values_list("pk", flat=True)[:MOST])
    return Group(members, found.rule) if members else Group(everybody, TOO_FEW)


def everybody_at(gym: Gym) -> QuerySet[Membership]:
    """Who belongs to a gym and may come to a class: its members, and coaches who have logged."""
    logged = Exists(Score.objects.filter(result__member=OuterRef("pk")))
    here = Membership.objects.filter(gym=gym, left_at__isnull=True)
    return here.filter(Q(role=Role.MEMBER) | logged).order_by("pk")


def _picked(gym: Gym, members: Sequence[int]) -> tuple[int, ...]:
    asked = sorted(set(members))
    here = Membership.objects.filter(gym=gym, left_at__isnull=True, pk__in=asked)
    found = set(here.values_list("pk", flat=True))
    unknown = [pk for pk in asked if pk not in found]
    if unknown:
        told = ", ".join(map(str, unknown[:5]))
        raise Refused(
            Item(
                "members",
                f"Nobody at this gym has the number {told}.",
                "Send numbers of memberships of people who belong to the gym now.",
            )
        )
    return tuple(asked)[:MOST]


@dataclass(frozen=True, slots=True)
class Choice:
    """A name to pick."""

    pk: int
    name: str
    is_picked: bool


def choices(*, viewer: access.Viewer, picked: Sequence[int] = ()) -> tuple[Choice, ...]:
    """Everybody who can be picked, by name, for a coach; nobody for others."""
    if not access.may_manage_gym(viewer) or viewer is None:
        return ()
    here = everybody_at(viewer.gym)
    named = [Choice(m.pk, access.shown_name(viewer, m), m.pk in picked) for m in here]
    return tuple(sorted(named, key=lambda choice: (choice.name.casefold(), choice.pk)))
