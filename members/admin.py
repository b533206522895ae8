"""Gyms, people and who belongs where, for owners of the installation."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from members.models import AuditEntry, Gym, Invitation, Membership, User
from members.readonly import ReadOnly


@admin.register(User)
class UserAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("email", "is_active", "is_staff")
    search_fields = ("email",)
    fields = ("email", "is_active", "is_staff", "is_superuser")

    def save_model(self, request: HttpRequest, obj: User, form: Any, change: bool) -> None:
        if not change:
            obj.set_unusable_password()
        super().save_model(request, obj, form, change)
        User.objects.note_address(obj)


@admin.register(Gym)
class GymAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("name", "slug", "timezone", "is_demo")
    prepopulated_fields = {"slug": ("name",)}


@admin.register(Membership)
class MembershipAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("display_name", "gym", "role", "joined_at", "left_at")
    list_filter = ("gym", "role")
    search_fields = ("display_name", "user__email")
    autocomplete_fields = ("user",)


@admin.register(Invitation)
class InvitationAdmin(ReadOnly):
    """To look at only: links are made where their token can be shown."""

    list_display = ("gym", "role", "uses", "max_uses", "expires_at", "revoked_at")
    list_filter = ("gym", "role")
    list_select_related = ("gym",)
    fields = ("gym", "role", "membership", "uses", "max_uses", "expires_at", "revoked_at")


@admin.register(AuditEntry)
class AuditAdmin(ReadOnly):
    """To look at only; the database refuses changes too."""

    list_display = ("at", "gym", "by", "what", "member", "subject", "why")
    list_filter = ("gym", "what")
    list_select_related = ("gym", "by", "member")
    date_hierarchy = "at"
