"""Questions about who belongs where. Nothing here writes."""

from datetime import datetime

from django.db.models import F, QuerySet
from django.http import HttpRequest

from members.models import Gym, Invitation, Membership, Role, User
from members.plain import Plain
from members.tokens import hash_token

SESSION_GYM = "gym"

# As ``memberships``, for what every request asks.
_OWN = Plain(
    Membership,
    "of.user_id = %s AND of.left_at IS NULL ORDER BY of.joined_at, of.id",
    joined=("gym",),
)


def memberships(user: User | None) -> QuerySet[Membership]:
    """Where somebody belongs now, oldest first."""
    if user is None or not user.is_authenticated:
        return Membership.objects.none()
    return (
        Membership.objects.filter(user=user, left_at=None)
        .select_related("gym", "user")
        .order_by("joined_at", "pk")
    )


def membership_for(user: User | None, gym: Gym) -> Membership | None:
    """Somebody's membership of one gym, unless they left."""
    return memberships(user).filter(gym=gym).first()


def current_membership(request: HttpRequest) -> Membership | None:
    """The membership the viewer acts with: of the gym they chose, else their first.

    A session says which gym; a device without one may say it by the ``X-Gym``
    header (the gym's short name). Asked for once a request and user.
    """
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return None
    return _known(request, user)[1]


def switchable(request: HttpRequest) -> list[Membership]:
    """The viewer's memberships, for choosing another gym; no further query."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return []
    return _known(request, user)[2]


def _known(request: HttpRequest, user: User) -> tuple[int, Membership | None, list[Membership]]:
    known: tuple[int, Membership | None, list[Membership]] | None
    known = getattr(request, "_membership", None)
    if known is None or known[0] != user.pk:
        own = _OWN.rows([user.pk])
        for one in own:
            one.user = user
        chosen = _chosen(request, own)
        known = (user.pk, next((m for m in own if m.pk == chosen), None), own)
        request._membership = known  # type: ignore[attr-defined]
    return known


def _chosen(request: HttpRequest, own: list[Membership]) -> int | None:
    """The key of the membership asked for; None where the header names a foreign gym."""
    slug = request.headers.get("X-Gym")
    if slug:
        return next((m.pk for m in own if m.gym.slug == slug), None)
    session = getattr(request, "session", None)
    gym = session.get(SESSION_GYM) if session is not None else None
    return next((m.pk for m in own if m.gym_id == gym), own[0].pk if own else None)


def members_of(gym: Gym) -> QuerySet[Membership]:
    """Everybody in a gym now, by name."""
    return (
        Membership.objects.filter(gym=gym, left_at=None)
        .select_related("gym", "user")
        .order_by("display_name", "pk")
    )


def coaches_of(gym: Gym) -> QuerySet[Membership]:
    return members_of(gym).filter(role__in=(Role.COACH, Role.OWNER))


def invitation_for(token: str) -> Invitation | None:
    """The invitation a link names, usable or not."""
    return (
        Invitation.objects.filter(token_hash=hash_token(token))
        .select_related("gym", "membership", "created_by")
        .first()
    )


SPENT = {
    "unknown": "This link leads nowhere. Perhaps a piece of it got lost.",
    "revoked": "This link was taken back.",
    "expired": "This link has run out.",
    "used": "This link has been used by as many people as it was for.",
}


def spent(invitation: Invitation, *, now: datetime) -> str:
    """Why a link lets nobody in any more, as a key of ``SPENT``; empty if it does."""
    if invitation.revoked_at is not None:
        return "revoked"
    if invitation.expires_at <= now:
        return "expired"
    if invitation.uses >= invitation.max_uses:
        return "used"
    return ""


def open_invitations(gym: Gym, *, now: datetime) -> QuerySet[Invitation]:
    """Links that still let somebody in, the newest first."""
    return Invitation.objects.filter(
        gym=gym, revoked_at=None, expires_at__gt=now, uses__lt=F("max_uses")
    ).select_related("membership", "created_by")
