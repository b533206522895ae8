"""Admin pages: to look, not to write. Changes go through the services.

A row changed here would leave a score, a board's version or a correction's record behind.
"""

from __future__ import annotations

from django.contrib import admin

from members.readonly import ReadOnly

from . import models


@admin.register(models.Workout)
class WorkoutAdmin(ReadOnly):
    list_display = ("title", "gym", "author", "created_at")
    list_filter = ("gym",)
    list_select_related = ("gym", "author")
    search_fields = ("title", "text")


@admin.register(models.StreamedClass)
class StreamedClassAdmin(ReadOnly):
    list_display = ("__str__", "gym", "coach", "state", "board_version")
    list_filter = ("state", "gym")
    list_select_related = ("workout", "gym", "coach")
    date_hierarchy = "starts_at"


@admin.register(models.CreditTableVersion)
class CreditTableAdmin(ReadOnly):
    list_display = ("gym", "version", "reason", "created_by", "created_at")
    list_filter = ("gym",)
    list_select_related = ("gym", "created_by")


@admin.register(models.Result)
class ResultAdmin(ReadOnly):
    list_display = ("pk", "streamed_class", "member", "current")
    list_select_related = ("streamed_class__workout", "member", "current")
    search_fields = ("member__display_name",)


@admin.register(models.Fact)
class FactAdmin(ReadOnly):
    list_display = ("result", "number", "mark", "options", "entered_by", "reason", "is_withdrawn")
    list_filter = ("is_withdrawn",)
    list_select_related = ("result", "entered_by")


@admin.register(models.Score)
class ScoreAdmin(ReadOnly):
    list_display = ("result", "adjusted_text", "credited", "key", "tie_key", "rules_version")
    list_filter = ("rules_version", "as_prescribed")
    list_select_related = ("result",)


@admin.register(models.RecomputeRun)
class RecomputeRunAdmin(ReadOnly):
    list_display = ("streamed_class", "rules_version", "done", "moved", "started_at", "finished_at")
    list_select_related = ("streamed_class__workout",)


@admin.register(models.Message)
class MessageAdmin(ReadOnly):
    list_display = ("pk", "kind", "member", "state", "not_before", "finished_at", "fault")
    list_filter = ("state", "kind")
    list_select_related = ("member",)


@admin.register(models.ClassTemplate)
class ClassTemplateAdmin(ReadOnly):
    list_display = ("name", "gym", "author")
    list_filter = ("gym",)
    list_select_related = ("gym", "author")


@admin.register(models.ImportRun)
class ImportRunAdmin(ReadOnly):
    list_display = ("pk", "streamed_class", "kind", "state", "by", "started_at")
    list_filter = ("state", "kind", "gym")
    list_select_related = ("streamed_class__workout", "by")


@admin.register(models.CreditChange)
class CreditChangeAdmin(ReadOnly):
    list_display = ("pk", "gym", "state", "by", "reason")
    list_filter = ("state", "gym")
    list_select_related = ("gym", "by")
