"""Asking to be erased, and taking it back while that is possible."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.core.mail import send_mail
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.urls import reverse

from members.leaving import all_memberships, gyms_without_another_owner
from members.models import Gym, User
from scoring.models import Erasure
from scoring.problems import Item, Refused, refuse

GRACE_DAYS = 14


def hindered_by(user: User) -> list[Gym]:
    """The gyms that need somebody else as an owner before this one can go."""
    return gyms_without_another_owner(all_memberships(user))


def demand_free(user: User) -> None:
    """Raises ``Refused`` (conflict) for the last owner of a gym."""
    gyms = hindered_by(user)
    if gyms:
        raise Refused(
            Item(
                "",
                f"You are the last owner of {', '.join(gym.name for gym in gyms)}.",
                "Make somebody else an owner on the page Members first.",
            ),
            kind="conflict",
        )


def erasure_of(user: User) -> Erasure | None:
    """What somebody asked for, if they did and it was not taken back."""
    return Erasure.objects.filter(user=user).first()


def ask_erasure(*, user: User, results: str, now: datetime) -> Erasure:
    """Ask to be erased ``GRACE_DAYS`` from now, all gyms together.

    Asked again, the first day stays and the choice about results is the newer one.
    Raises ``Refused`` for no such choice, or for the last owner of a gym.
    """
    if results not in Erasure.Results.values:
        raise refuse("results", "Say what becomes of your results.", "Choose one of the two.")
    demand_free(user)
    try:
        with transaction.atomic():
            row, created = Erasure.objects.get_or_create(
                user=user,
                defaults={
                    "results": results,
                    "asked_at": now,
                    "due_at": now + timedelta(days=GRACE_DAYS),
                },
            )
    except IntegrityError:  # asked twice at the same moment
        row, created = Erasure.objects.get(user=user), False
    if not created and row.results != results:
        Erasure.objects.filter(pk=row.pk).update(results=results)
        row.results = results
    return row


def take_back(*, user: User) -> bool:
    """Stay after all; whether there was something to take back."""
    deleted, _ = Erasure.objects.filter(user=user).delete()
    return bool(deleted)


def tell_asked(*, pk: int, site: str) -> bool:
    """Send the e-mail that says when it is due and where to take it back."""
    row = Erasure.objects.select_related("user").filter(pk=pk).first()
    if row is None:
        return False
    address = site.rstrip("/") + reverse("erase-me")
    told = {"address": address, "due": row.due_at, "results": row.results}
    send_mail(
        "You asked to be erased",
        render_to_string("scoring/email/erasure_asked.txt", told),
        None,
        [row.user.email],
    )
    return True
