"""Admin pages to look at only: rows that services write and nobody changes by hand."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest


class ReadOnly(admin.ModelAdmin):
    """Shows rows to staff and lets nobody add, change or delete one."""

    list_per_page = 50
    show_full_result_count = False

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
