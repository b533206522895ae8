"""The API's documentation as a page to try it from, served from this site alone.

The viewer is a library's; our template leaves its inline style out, so that the policy of
every other page holds here too.
"""

from typing import Any

from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularSwaggerSplitView
from rest_framework.request import Request
from rest_framework.response import Response


class Docs(SpectacularSwaggerSplitView):  # type: ignore[misc]
    """The page, and with ``?script`` what starts it."""

    url_name = "api-schema"
    template_name = "gymsite/api_docs.html"
    # It knows one way of being shown: a question by OPTIONS would find nothing to answer with.
    http_method_names = ["get", "head"]

    @extend_schema(exclude=True)
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        answer: Response = super().get(request, *args, **kwargs)
        if answer.content_type == "application/javascript":
            answer.content_type = "text/javascript; charset=utf-8"
        return answer
