"""A copy of all that is kept of somebody: asked for, made, told by e-mail, and dropped.

The e-mail is sent after the archive is committed and never again for it: making it twice
does nothing. If the process dies between the two there is no e-mail, the page shows the
copy as ready, and asking again makes a new one with a new link.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.core.mail import send_mail
from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.template.loader import render_to_string
from django.urls import reverse

from members.models import User
from members.tokens import hash_token, new_token
from scoring.models import DataExport
from scoring.problems import refuse

from .archive import pack
from .own_data import own_data

KEPT_DAYS = 7
MOST_A_DAY = 5
MADE_WITHIN = timedelta(minutes=5)
State = DataExport.State


def ask_export(*, user: User, site: str, now: datetime) -> DataExport:
    """Ask for a copy; asked again while one is being made, that one is answered.

    Whoever calls enqueues making it, also for one that waits: making it is safe to do
    again. ``site`` is the address of the site, with its scheme. Raises ``Refused``
    (conflict) after ``MOST_A_DAY`` in a day.
    """
    waiting = DataExport.objects.filter(user=user, state=State.WAITING).first()
    if waiting is not None:
        return waiting
    day = DataExport.objects.filter(user=user, asked_at__gt=now - timedelta(days=1))
    if day.count() >= MOST_A_DAY:
        raise refuse(
            "", f"You asked for {MOST_A_DAY} copies within a day.", "Ask again tomorrow.",
            "conflict",
        )  # fmt: skip
    try:
        with transaction.atomic():
            return DataExport.objects.create(user=user, site=site.rstrip("/"), asked_at=now)
    except IntegrityError:  # asked twice at the same moment
        return DataExport.objects.get(user=user, state=State.WAITING)


def waiting_exports(*, now: datetime) -> list[int]:
    """Copies that should have been made by now: their worker died, or none heard of them."""
    late = Q(asked_at__lte=now - MADE_WITHIN) | Q(asked_at__gt=now + MADE_WITHIN)
    rows = DataExport.objects.filter(late, state=State.WAITING)
    return list(rows.order_by("pk").values_list("pk", flat=True))


def make_export(*, pk: int, now: datetime) -> bool:
    """Make a copy that waits, and send its link. Whether there was something to do.

    Earlier copies are dropped: one is enough, and each is a thing to lose.
    """
    with transaction.atomic():
        row = (
            DataExport.objects.select_for_update(of=("self",))
            .select_related("user")
            .filter(pk=pk, state=State.WAITING)
            .first()
        )
        if row is None:
            return False
        token = new_token()
        row.archive = pack(own_data(row.user), made=now)
        row.state, row.made_at = State.READY, now
        row.expires_at = now + timedelta(days=KEPT_DAYS)
        row.token_hash = hash_token(token)
        row.save()
        _drop(DataExport.objects.filter(user=row.user, state=State.READY).exclude(pk=pk))
        # Mail that can't be sent is logged; the copy is there all the same.
        transaction.on_commit(lambda: _tell(row, token), robust=True)
    return True


def _tell(row: DataExport, token: str) -> None:
    told = {
        "address": row.site + reverse("export-file", args=[token]),
        "days": KEPT_DAYS,
        "until": row.expires_at,
    }
    send_mail(
        "The copy of your data",
        render_to_string("scoring/email/export.txt", told),
        None,
        [row.user.email],
    )


def archive_for(*, user: User, token: str, now: datetime) -> DataExport | None:
    """The copy a link leads to: for its own member, signed in, until it runs out."""
    return DataExport.objects.filter(
        user=user, state=State.READY, expires_at__gt=now, token_hash=hash_token(token)
    ).first()


def latest_export(*, user: User, now: datetime) -> DataExport | None:
    """The copy asked for last, without its bytes, as it is now."""
    row = DataExport.objects.filter(user=user).defer("archive").first()
    if row and row.expires_at and row.expires_at <= now:
        row.state = State.EXPIRED
    return row


def drop_expired(*, now: datetime) -> int:
    """Drop the bytes of copies that ran out; that they were made stays. How many."""
    return _drop(DataExport.objects.filter(state=State.READY, expires_at__lte=now))


def _drop(rows: QuerySet[DataExport]) -> int:
    return rows.update(state=State.EXPIRED, token_hash="", archive=b"")
