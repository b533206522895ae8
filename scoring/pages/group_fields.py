"""The fields that say whom a forecast is for, and what share of them a proposal lets through."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import QueryDict

from members.keys import is_key
from members.models import Membership
from scoring.problems import refuse
from scoring.selectors.groups import Choice, Wanted, Who, choices

LEAST_SHARE = 5
"""Percent."""

FIELDS = ("forecast_for", "people", "share")


def group_given(sent: QueryDict) -> dict[str, Any]:
    """The fields as they were sent, empty where they were not."""
    return {
        "forecast_for": sent.get("forecast_for", Who.USUAL.value),
        "people": sent.getlist("people"),
        "share": sent.get("share", ""),
    }


def wanted_from(given: Mapping[str, Any]) -> tuple[Wanted, float | None]:
    """The group and the share asked for, ``None`` for no own one. Raises ``Refused``."""
    return Wanted(_who(given), _people(given)), _share(str(given.get("share", "")))


def name_choices(viewer: Membership, given: Mapping[str, Any]) -> tuple[Choice, ...]:
    """Everybody who can be picked, those who were ticked as such."""
    picked = [int(pk) for pk in given.get("people", ()) if is_key(pk)]
    return choices(viewer=viewer, picked=picked)


def _who(given: Mapping[str, Any]) -> Who:
    try:
        return Who(given.get("forecast_for") or Who.USUAL)
    except ValueError:
        words = "Choose who usually comes, everybody, or people you pick."
        raise refuse("forecast_for", "That is no group.", words) from None


def _people(given: Mapping[str, Any]) -> tuple[int, ...]:
    people = given.get("people", ())
    if not all(is_key(pk) for pk in people):
        raise refuse("people", "Somebody picked is nobody here.", "Pick people from the list.")
    return tuple(int(pk) for pk in people)


def _share(text: str) -> float | None:
    text = text.strip().removesuffix("%").strip()
    if not text:
        return None
    is_number = text.isascii() and text.isdigit() and len(text) < 4
    if not is_number or not LEAST_SHARE <= int(text) <= 100:
        raise refuse(
            "share",
            "That is no share of a group.",
            f"Write a whole number from {LEAST_SHARE} to 100, such as 80.",
        )
    return int(text) / 100
