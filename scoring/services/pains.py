"""Telling that something hurts, and taking it back."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from members.models import Membership
from scoring import access
from scoring.core.body import AREAS
from scoring.models import Pain, StreamedClass
from scoring.problems import Item, Refused, refuse, storable

MAX_WORDS = 500


def read_pain(areas: Collection[str], words: str) -> tuple[list[str], str]:
    """Areas in the order of the list, and tidy words. Raises ``Refused``."""
    words = " ".join(words.split())
    items = []
    unknown = sorted(set(areas) - set(AREAS))
    if unknown:
        items.append(Item("hurts", f"“{unknown[0][:40]}” is not in the list.", "Choose elsewhere."))
    if len(words) > MAX_WORDS or not storable(words):
        items.append(Item("hurts_words", "That can't be kept.", f"At most {MAX_WORDS} letters."))
    if items:
        raise Refused(*items)
    return [area for area in AREAS if area in areas], words


def tell_pain(
    *,
    streamed_class: StreamedClass,
    member: Membership,
    areas: Collection[str],
    words: str,
    now: datetime,
) -> Pain | None:
    """Keep what hurts, in place of what was told before; nothing told takes it back.

    Also after a class is closed: some things hurt the next day. Raises ``Refused``.
    """
    if not access.may_see_class(member, streamed_class):
        raise refuse("", "That class is not yours.", kind="forbidden")
    told, words = read_pain(areas, words)
    if not told and not words:
        Pain.objects.filter(streamed_class=streamed_class, member=member).delete()
        return None
    row, _ = Pain.objects.update_or_create(
        streamed_class=streamed_class,
        member=member,
        defaults={"areas": told or ["elsewhere"], "words": words, "told_at": now},
    )
    return row
