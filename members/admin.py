"""Gyms, people and who belongs where, for owners of the installation."""

from django.contrib import admin

from members.models import Gym, Membership, User


@admin.register(User)
class UserAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("email", "is_active", "is_staff")
    search_fields = ("email",)
    fields = ("email", "is_active", "is_staff", "is_superuser")


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
