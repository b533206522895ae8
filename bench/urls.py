"""The site's addresses and the bare ones beside them."""

from django.urls import path

from bench import bare
from gymsite.urls import handler400, handler403, handler404, handler500
from gymsite.urls import urlpatterns as site

__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]

urlpatterns = [
    *site,
    path("bare/page/", bare.page),
    path("bare/ranked/<int:pk>/", bare.ranked),
    path("bare/insert/", bare.insert),
]
