"""Compressed answers, except where an answer asks to stay as it is."""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware


class CompressionMiddleware(GZipMiddleware):
    """Honours ``Cache-Control: no-transform`` (RFC 9111, section 5.2.2.6)."""

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        if "no-transform" in response.get("Cache-Control", ""):
            return response
        compressed: HttpResponseBase = super().process_response(request, response)
        return compressed
