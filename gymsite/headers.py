"""What every answer tells browsers and caches, unless its view has said otherwise."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

# Everything a page could ask a device for is off, but what passkeys need.
OFF = (
    "accelerometer", "autoplay", "browsing-topics", "camera", "display-capture",
    "geolocation", "gyroscope", "hid", "identity-credentials-get", "idle-detection", "magnetometer",
    "microphone", "midi", "payment", "serial", "usb", "xr-spatial-tracking",
)  # fmt: skip
PERMISSIONS = ", ".join(
    [f"{name}=()" for name in OFF]
    + ["publickey-credentials-get=(self)", "publickey-credentials-create=(self)"]
)
SIGN_OUT = "account_logout"


class HeadersMiddleware:
    """Nothing is kept by a cache or a browser unless its view says so.

    Pages tell names, marks and pains, and a phone is lent. The parts that renew themselves
    (boards, the running class, calendars) and the API's tagged answers say ``private,
    no-cache``: they may be kept by their receiver alone and must be asked about each time,
    without which there would be nothing for a 304 to spare.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Cache-Control", "no-store, private")
        match = request.resolver_match
        if request.method == "POST" and match and match.url_name == SIGN_OUT:
            # Drafts of results lie in the browser until they are sent.
            response.headers["Clear-Site-Data"] = '"cache", "storage"'
        return response
