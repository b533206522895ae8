"""Frames for classes: kept, changed and removed by the gym's coaches."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from members import audit
from members.models import Membership
from scoring import access
from scoring.models import ClassTemplate
from scoring.problems import Item, Refused, refuse, storable

MAX_NAME, MAX_TEXT, MAX_NOTE = 120, 20_000, 2_000


@transaction.atomic
def save_template(
    *,
    by: Membership,
    name: str,
    text: str,
    note: str = "",
    template: ClassTemplate | None = None,
    now: datetime,
) -> ClassTemplate:
    """Keep a frame, or change ``template``. The text stays as typed and may be anything.

    Raises ``Refused`` with one item a field that can't be kept, and for a name that is taken.
    """
    name, note = " ".join(name.split()), note.strip()
    text = text.replace("\r\n", "\n").rstrip() + "\n" if text.strip() else ""
    _check(name, text, note)
    if not access.may_manage_gym(by):
        raise refuse("", "Only a coach of this gym can do that.", kind="forbidden")
    row = ClassTemplate(gym=by.gym, author=by) if template is None else _locked(template, by)
    row.name, row.text, row.note, row.changed_at = name, text, note, now
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        raise refuse(
            "name", "A template of this name is there already.", "Choose another name.", "conflict"
        ) from None
    what = "make-template" if template is None else "change-template"
    audit.record(
        gym=by.gym, by=by, what=what, subject=name, subject_key=f"template {row.pk}", now=now
    )
    return row


@transaction.atomic
def remove_template(*, template: ClassTemplate, by: Membership, now: datetime) -> None:
    """Remove a frame; classes made from it stay."""
    row = _locked(template, by)
    audit.record(
        gym=by.gym, by=by, what="remove-template", subject=row.name,
        subject_key=f"template {row.pk}", now=now,
    )  # fmt: skip
    row.delete()


def _locked(template: ClassTemplate, by: Membership) -> ClassTemplate:
    row = access.visible_templates(by).select_for_update().filter(pk=template.pk).first()
    if row is None:
        raise refuse("", "This template was removed meanwhile.", "Load the list.", "conflict")
    return row


def _check(name: str, text: str, note: str) -> None:
    items = []
    for column, value, most, least in (
        ("name", name, MAX_NAME, 1),
        ("text", text, MAX_TEXT, 1),
        ("note", note, MAX_NOTE, 0),
    ):
        if len(value) < least:
            items.append(Item(column, "Nothing is written here.", "Write at least a word."))
        elif len(value) > most or not storable(value):
            items.append(Item(column, "That can't be kept.", f"At most {most:,} characters."))
    if items:
        raise Refused(*items)
