"""Where something hurts, and what is usually said to it. No diagnosis is made here.

Warning signs of heart and circulation: ACSM's Guidelines for Exercise Testing and
Prescription, 10th edition, chapter 2 (from memory). The rest: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection

AREAS = (
    "chest",
    "head or neck",
    "shoulder",
    "elbow",
    "wrist or hand",
    "upper back",
    "low back",
    "hip or groin",
    "thigh",
    "knee",
    "calf or shin",
    "ankle or foot",
    "elsewhere",
)

_AT_ONCE = (
    "Pain or pressure in the chest during or after exercise is a warning sign. Stop now, and "
    "if it does not pass at once, or comes with breathlessness, sweating or faintness, call "
    "the emergency number."
)
_HEAD = (
    "A sudden severe headache, a stiff neck, double vision, weakness or numbness needs a "
    "doctor today."
)
_USUAL = (
    "Stop what brings the pain on. If it is sharp, swollen, numb or weak, or still there in a few "
    "days, let a doctor or a physiotherapist look at it before you load it again."
)


def advice(areas: Collection[str]) -> tuple[str, ...]:
    """The usual cautions for pain there, the most urgent first; none for no pain."""
    told = []
    if "chest" in areas:
        told.append(_AT_ONCE)
    if "head or neck" in areas:
        told.append(_HEAD)
    if areas:
        told.append(_USUAL)
    return tuple(told)
