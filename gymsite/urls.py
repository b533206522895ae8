"""Every address of the site, by who answers it."""

from allauth.account.decorators import secure_admin_login
from django.contrib import admin
from django.urls import include, path

from gymsite import docs, health, metrics

admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]
admin.site.site_header = "Class board"
admin.site.site_title = "Class board"

urlpatterns = [
    # Addresses are tried in this order, one by one; those asked for most come first.
    path("api/v1/", include("scoring.api.urls")),
    path("api/v1/", include("members.api.urls")),
    path("", include("scoring.pages.urls")),
    path("", include("members.urls")),
    path("api/v1/schema/", docs.Document.as_view(), name="api-schema"),
    path("api/v1/docs/", docs.Docs.as_view(), name="api-docs"),
    path("accounts/", include("allauth.urls")),
    path("admin/", admin.site.urls),
    path("health/", health.ready, name="health"),
    path("health/live/", health.live, name="health-live"),
    path("health/ready/", health.ready, name="health-ready"),
    path("metrics/", metrics.view, name="metrics"),
]

handler400 = "gymsite.errors.bad_request"
handler403 = "gymsite.errors.forbidden"
handler404 = "gymsite.errors.not_found"
handler429 = "gymsite.errors.too_often"  # asked for by the library of accounts
handler500 = "gymsite.errors.server_error"
