"""Which messages a member wants, and when."""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import time

from django.db import transaction

from members.models import Membership
from scoring.models import MessageKind, MessageSettings
from scoring.problems import Item, Refused

_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])(?::00)?")


def read_clock(text: str) -> time:
    """A time of day as a browser or a person writes it, ``21:00``.

    Raises ``ValueError`` for anything else.
    """
    read = _CLOCK.fullmatch(text.strip())
    if read is None:
        raise ValueError(f"“{text[:20]}” is no time of day.")
    return time(int(read[1]), int(read[2]))


@transaction.atomic
def save_message_settings(
    *,
    member: Membership,
    kinds: Collection[str],
    quiet_from: str,
    quiet_until: str,
) -> MessageSettings:
    """Keep which ``kinds`` a member wants, whole, and their quiet hours.

    Quiet hours are times of day by the member's own clock, ``21:00``.
    Raises ``Refused`` with every field that can't be kept.
    """
    items: list[Item] = []
    unknown = sorted(set(kinds) - set(MessageKind.values))
    if unknown:
        items.append(Item("kinds", f"“{unknown[0][:40]}” is no message here.", "Tick what is."))
    clocks: dict[str, time] = {}
    for column, text in (("quiet_from", quiet_from), ("quiet_until", quiet_until)):
        try:
            clocks[column] = read_clock(text)
        except ValueError as error:
            said = str(error) if text.strip() else "A time of day is needed."
            items.append(Item(column, said, "Write it like 21:00."))
    if items:
        raise Refused(*items)
    row, _ = MessageSettings.objects.update_or_create(
        member=member,
        defaults={kind: kind in kinds for kind in MessageKind.values} | clocks,
    )
    return row


def switch_off(*, member: Membership, kind: MessageKind) -> MessageSettings:
    """Send a member no more messages of a kind. Doing it twice changes nothing more."""
    row, _ = MessageSettings.objects.get_or_create(member=member)
    MessageSettings.objects.filter(pk=row.pk).update(**{kind.value: False})
    row.refresh_from_db()
    return row
