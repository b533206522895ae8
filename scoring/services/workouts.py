"""Workouts: reading what a coach wrote, and keeping it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from django.db import IntegrityError, transaction

from members.models import Gym, Membership
from scoring.core import notation
from scoring.core.course import Course
from scoring.core.prescription import Workout as Prescription
from scoring.models import Workout
from scoring.problems import Item, Refused, storable


@dataclass(frozen=True, slots=True)
class Preview:
    """What a text on the board comes to. ``workout`` and ``course`` are ``None`` if it can't
    be read; ``problems`` say why."""

    workout: Prescription | None
    course: Course | None
    text: str
    notes: tuple[notation.Note, ...]
    problems: tuple[notation.Problem, ...]


def preview(*, text: str, weighted: bool = False) -> Preview:
    """Read a board without keeping it."""
    try:
        parsed = notation.parse(text)
    except notation.NotationError as error:
        return Preview(None, None, "", (), error.problems)
    return Preview(
        parsed.workout,
        Course(parsed.workout, weighted=weighted),
        notation.to_text(parsed.workout),
        parsed.notes,
        (),
    )


def fingerprint(text: str) -> str:
    """Hash of a canonical text without its title line."""
    return hashlib.sha256(text.partition("\n")[2].encode()).hexdigest()


def save_workout(*, gym: Gym, text: str, author: Membership | None) -> Workout:
    """Keep a workout; the same text again is the same row.

    Raises
    ------
    Refused
        With one item for each line that can't be read.
    """
    text = "".join(letter if storable(letter) else "\ufffd" for letter in text)
    seen = preview(text=text)
    if seen.workout is None:
        raise Refused(*[Item("text", p.problem, p.suggestion, line=p.line) for p in seen.problems])
    found = Workout.objects.filter(gym=gym, text=seen.text).first()
    if found:
        return found
    try:
        with transaction.atomic():
            return Workout.objects.create(
                gym=gym,
                title=seen.workout.title,
                text=seen.text,
                source=text,
                fingerprint=fingerprint(seen.text),
                author=author,
            )
    except IntegrityError:  # somebody saved the same text just now
        return Workout.objects.get(gym=gym, text=seen.text)
