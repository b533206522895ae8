"""Today's pages on the database in use, and every board scored anew."""

from __future__ import annotations

from django.test import Client
from django.urls import reverse

from members.models import Membership, Role
from scoring.models import StreamedClass
from scoring.services.recompute import differences


def pages() -> dict[str, int]:
    """What pages of the invented gym answer, by who asks and where."""
    found: dict[str, int] = {}
    coach = Membership.objects.filter(gym__is_demo=True, role=Role.COACH).first()
    streamed = StreamedClass.objects.filter(coach=coach, state="closed").first()
    member = Membership.objects.filter(
        gym=coach.gym, role=Role.MEMBER, results__streamed_class=streamed
    ).first()
    board, review = (reverse(f"class-{page}", args=[streamed.pk]) for page in ("board", "review"))
    for who, addresses in (
        (member, [board, reverse("progress"), reverse("home")]),
        (coach, [board, review, reverse("home"), reverse("credits")]),
    ):
        client = Client()
        client.force_login(who.user, backend="django.contrib.auth.backends.ModelBackend")
        found |= {f"{who.role} {each}": client.get(each).status_code for each in addresses}
    return found


def moved() -> dict[int, int]:
    """How many would move in each class if its scores were derived anew; none that stay."""
    classes = StreamedClass.objects.select_related("workout", "credit_table", "gym")
    return {each.pk: len(found) for each in classes if (found := differences(streamed_class=each))}
