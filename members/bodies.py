"""Year of birth and body weight: told by a member, read by that member alone."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from members.models import Body, Membership
from members.problems import Refused

OLDEST = 1900
YOUNGEST_AGE = 10
LIGHTEST, HEAVIEST = 20, 400
KG_PER_LB = Decimal("0.45359237")  # exact, International yard and pound agreement of 1959


@dataclass(frozen=True, slots=True)
class BodyTold:
    """What somebody told; ``None`` for what they did not. ``weight`` is in kilograms."""

    year_of_birth: int | None = None
    weight: Decimal | None = None


def body_of(*, member: Membership, viewer: Membership | None) -> BodyTold:
    """A member's own body; for anybody else, coaches included, nothing was told."""
    if viewer is None or viewer.pk != member.pk:
        return BodyTold()
    row = Body.objects.filter(membership=member).first()
    return BodyTold(row.year_of_birth, row.weight) if row else BodyTold()


def save_body(
    *, membership: Membership, year_of_birth: str, weight: str, this_year: int
) -> BodyTold:
    """Keep what was told, whole: an empty text takes that part back.

    ``weight`` is in kilograms, or pounds if it says ``lb``; kept to a hundredth of a
    kilogram. Raises ``Refused`` for what is no year or no weight.
    """
    year, kilograms = _year(year_of_birth, this_year), _weight(weight)
    if year is None and kilograms is None:
        Body.objects.filter(membership=membership).delete()
    else:
        Body.objects.update_or_create(
            membership=membership, defaults={"year_of_birth": year, "weight": kilograms}
        )
    return BodyTold(year, kilograms)


def _year(text: str, this_year: int) -> int | None:
    text = text.strip()
    if not text:
        return None
    latest = this_year - YOUNGEST_AGE
    if not (text.isascii() and text.isdigit() and len(text) == 4) or not (
        OLDEST <= int(text) <= latest
    ):
        raise Refused(
            "year_of_birth",
            "That is no year of birth.",
            f"Write four digits, {OLDEST} to {latest}, or leave it empty.",
        )
    return int(text)


def _weight(text: str) -> Decimal | None:
    words = text.strip().lower().replace(",", ".")
    if not words:
        return None
    is_pounds = words.endswith("lb")
    wrong = Refused(
        "weight",
        "That is no body weight.",
        f"Write kilograms, {LIGHTEST} to {HEAVIEST}, or pounds like 150 lb, or leave it empty.",
    )
    digits = words.removesuffix("lb").removesuffix("kg").strip()
    if len(digits) > 10 or not digits.replace(".", "", 1).isdigit() or not digits.isascii():
        raise wrong
    try:
        kilograms = Decimal(digits) * (KG_PER_LB if is_pounds else 1)
    except InvalidOperation as error:
        raise wrong from error
    kilograms = kilograms.quantize(Decimal("0.01"))
    if not LIGHTEST <= kilograms <= HEAVIEST:
        raise wrong
    return kilograms
