"""Imports and their lines as JSON."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Asked, Number, Time
from scoring.core.told_sheet import COLUMNS
from scoring.models import ImportLine, ImportRun
from scoring.selectors.imports import Counts
from scoring.services.import_mending import MAX_TEXT
from scoring.services.importing import MAX_BYTES, MAX_REASON

from .shapes import OfClass


class ImportIn(serializers.Serializer[Any]):
    """A chat as it was copied, or the text of a file whose first line names its columns."""

    kind = serializers.ChoiceField(choices=ImportRun.Kind.choices)
    text = serializers.CharField(
        max_length=MAX_BYTES,
        trim_whitespace=False,
        help_text=f"At most 5,000 lines. A file's columns: {', '.join(COLUMNS)}.",
    )


class WhyIn(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=MAX_REASON, allow_blank=True, default="")


class LinesAsked(Asked):
    state = serializers.ChoiceField(
        choices=ImportLine.State.choices, required=False, help_text="Lines of one state only."
    )


class LineChange(serializers.Serializer[Any]):
    """How a line is to be understood; what is left out stays as it is."""

    changes = serializers.DictField(
        child=serializers.CharField(max_length=MAX_TEXT, allow_blank=True),
        required=False,
        help_text="`text` of a chat's line, or columns of a file's.",
    )
    answers = serializers.DictField(
        child=serializers.CharField(max_length=300, allow_blank=True),
        required=False,
        help_text="To doubts, by their `part`: one of the `choices`, or nothing to leave it out.",
    )
    member = Number(required=False)
    new_member = serializers.CharField(
        max_length=60, required=False, help_text="A name to be entered as a new member."
    )
    accept = serializers.BooleanField(required=False, help_text="It is right as it is read.")
    skip = serializers.BooleanField(required=False, help_text="Leave it out.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if not attrs:
            raise serializers.ValidationError("Say what is to be changed.")
        if "member" in attrs and "new_member" in attrs:
            raise serializers.ValidationError("Give a member or a new one, not both.")
        return attrs


class FaultShape(serializers.Serializer[Any]):
    column = serializers.CharField(allow_blank=True)
    problem = serializers.CharField()
    suggestion = serializers.CharField(allow_blank=True)


class DoubtShape(serializers.Serializer[Any]):
    """What is asked about the ``part`` of a line. Without choices it is answered by changing
    the line, by naming the member or by accepting it as read."""

    column = serializers.CharField()
    part = serializers.CharField(allow_blank=True)
    words = serializers.CharField()
    choices = serializers.ListField(child=serializers.CharField())


class ImportLineShape(serializers.Serializer[Any]):
    """A line: its text, how it is understood, what is wrong or asked, what became of it."""

    number = serializers.IntegerField()
    state = serializers.ChoiceField(choices=ImportLine.State.choices)
    text = serializers.CharField(allow_blank=True)
    cells = serializers.DictField(child=serializers.CharField(allow_blank=True))
    member = serializers.IntegerField(allow_null=True)
    name = serializers.CharField(allow_blank=True)
    candidates = serializers.ListField(child=serializers.IntegerField())
    mark = serializers.CharField(allow_blank=True)
    options = serializers.CharField(allow_blank=True)
    splits = serializers.CharField(allow_blank=True)
    effort = serializers.IntegerField(allow_null=True)
    note = serializers.CharField(allow_blank=True)
    adjusted = serializers.CharField(allow_blank=True, help_text="What it would count.")
    problems = FaultShape(many=True)
    doubts = DoubtShape(many=True)
    remarks = serializers.ListField(child=serializers.CharField())
    result = serializers.IntegerField(allow_null=True, help_text="The result it is in.")


class ImportShape(OfClass):
    """An import, how far it is, and how many lines it has of each state."""

    id = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=ImportRun.Kind.choices)
    state = serializers.ChoiceField(choices=ImportRun.State.choices)
    lines = serializers.IntegerField()
    counts = serializers.DictField(child=serializers.IntegerField())
    remarks = serializers.ListField(child=serializers.CharField())
    reason = serializers.CharField(allow_blank=True)
    fault = serializers.CharField(allow_blank=True, help_text="Why it stopped, if it did.")
    started_at = Time()
    confirmed_at = Time(allow_null=True)
    finished_at = Time(allow_null=True)
    undone_at = Time(allow_null=True)


def told_import(run: ImportRun, counts: Counts) -> dict[str, Any]:
    """An import as plain data."""
    return {
        "id": run.pk,
        "class": run.streamed_class_id,
        "lines": counts.total,
        "counts": counts.by_state,
        **{
            name: getattr(run, name)
            for name in (
                "kind", "state", "remarks", "reason", "fault", "started_at", "confirmed_at",
                "finished_at", "undone_at",
            )
        },
    }  # fmt: skip


def told_line(line: ImportLine) -> dict[str, Any]:
    """A line as plain data."""
    return {
        "text": line.text_now,
        "cells": line.cells_now,
        "member": line.member_id,
        "result": line.fact.result_id if line.fact else None,
        **{
            name: getattr(line, name)
            for name in (
                "number", "state", "name", "candidates", "mark", "options", "splits", "effort",
                "note", "adjusted", "problems", "doubts", "remarks",
            )
        },
    }  # fmt: skip
