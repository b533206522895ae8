"""A member's gear, weights and habits."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from fractions import Fraction

from django.db import transaction

from members.models import Membership
from scoring.core import catalogue
from scoring.core.gear import LOADED, PIECES
from scoring.core.prescription import Load, PrescriptionError
from scoring.models import Setup
from scoring.problems import Item, Refused, storable

MOST_WEIGHTS = 40
MOST_HABITS = 100
LONGEST = 120
_WEIGHT = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,3})?) ?(kg|lb)?s?")


@transaction.atomic
def save_setup(
    *,
    member: Membership,
    pieces: Collection[str],
    loads: Mapping[str, str],
    usual: Mapping[str, str],
    unit: str = "kg",
) -> Setup:
    """Keep what a member told, whole: what is left out is gone.

    ``loads`` are weights by the piece as people write them, ``16, 24``; those without a
    unit are in ``unit``. ``usual`` is an option by the movement; an empty one says that the
    movement is done as prescribed.

    Raises ``Refused`` with every field that can't be kept.
    """
    items: list[Item] = []
    if unit not in ("kg", "lb"):
        items.append(Item("unit", "Weights are in kg or lb.", "Choose one of the two."))
        unit = "kg"
    unknown = sorted(set(pieces) - set(PIECES))
    if unknown:
        items.append(Item("pieces", f"“{unknown[0][:40]}” is not in the list.", "Tick what is."))
    weights: dict[str, list[str]] = {}
    for piece, text in loads.items():
        if piece not in LOADED:
            items.append(Item("loads", f"“{piece[:40]}” has no weights.", f"{', '.join(LOADED)}."))
            continue
        try:
            read = read_weights(text, unit)
        except ValueError as error:
            items.append(Item(f"loads.{piece}", f"{piece}: {error}", "Write them like 12, 16, 24."))
            continue
        if read:
            weights[piece] = [str(load) for load in read]
    habits = _habits(usual, items)
    if items:
        raise Refused(*items)
    row, _ = Setup.objects.select_for_update().update_or_create(
        member=member,
        defaults={
            "has_told_gear": True,
            "pieces": [piece for piece in PIECES if piece in pieces],
            "loads": weights,
            "usual": habits,
            "unit": unit,
        },
    )
    return row


def read_weights(text: str, unit: str) -> list[Load]:
    """Weights as people write them, ``12, 16 kg; 35 lb``, each once, the lightest first.

    Raises ``ValueError`` that says which can't be read.
    """
    found: dict[Fraction, Load] = {}
    words = text.lower().replace(";", ",").replace(" and ", ",").split(",")
    for word in filter(None, (w.strip() for w in words)):
        read = _WEIGHT.fullmatch(word)
        try:
            load = Load((Fraction(read[1]),), read[2] or unit) if read else None
        except PrescriptionError:
            load = None
        if load is None:
            raise ValueError(f"“{word[:40]}” is not a weight.")
        found[load.kilograms[0]] = load
    if len(found) > MOST_WEIGHTS:
        raise ValueError(f"That is more than {MOST_WEIGHTS} weights.")
    return [found[kilograms] for kilograms in sorted(found)]


def _habits(usual: Mapping[str, str], items: list[Item]) -> dict[str, str]:
    habits: dict[str, str] = {}
    for movement, option in usual.items():
        option = " ".join(option.split())
        if not option:
            continue
        if not (
            len(option) <= LONGEST and len(movement) <= LONGEST and storable(option + movement)
        ):
            items.append(Item("usual", "That habit can't be kept.", "Choose an option shown."))
            return {}
        habits[catalogue.canonical(movement)] = option
    if len(habits) > MOST_HABITS:
        items.append(Item("usual", f"That is more than {MOST_HABITS} habits.", "Clear some."))
    return habits


@transaction.atomic
def set_usual(*, member: Membership, movement: str, option: str) -> Setup:
    """Change one habit and nothing else; an empty option says as prescribed."""
    row, _ = Setup.objects.select_for_update().get_or_create(member=member)
    items: list[Item] = []
    habits = _habits({**row.usual, movement: option}, items)
    if items:
        raise Refused(*items)
    if not option.strip():
        habits.pop(catalogue.canonical(movement), None)
    row.usual = habits
    row.save(update_fields=["usual"])
    return row
