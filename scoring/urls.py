"""Where the pages and the API hang; each lists its own addresses."""

from django.urls import include, path

urlpatterns = [
    path("", include("scoring.pages.urls")),
    path("api/v1/", include("scoring.api.urls")),
]
