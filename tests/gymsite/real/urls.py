"""The site's addresses, one that takes its time, one that fails, and one that starts tasks."""

import time

from django.http import HttpResponse
from django.urls import path

from gymsite.urls import handler400, handler403, handler404, handler500, urlpatterns
from tests.gymsite.real import work

__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]


def slow(request):
    time.sleep(2)
    return HttpResponse("after all")


def fails(request):
    raise ValueError(f"{request.GET.get('name')} can't be read")


def starts(request):
    for name in ("Ana Sol", "Ben Okoro"):
        work.good.delay(7)
        work.bad.delay(name)
    return HttpResponse("started")


urlpatterns = [
    *urlpatterns,
    path("slow/", slow),
    path("fails/", fails),
    path("starts/", starts),
]
