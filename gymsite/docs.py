"""The API's document, and the documentation as a page to try it from, served from this site alone.

The viewer is a library's; our template leaves its inline style out, so that the policy of
every other page holds here too.
"""

from functools import cache
from typing import Any

from django.http import HttpResponse
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.request import Request
from rest_framework.response import Response


@cache
def document() -> dict[str, Any]:
    """The API's document in the OpenAPI 3 form; nobody changes what is given here.

    It is the same for everybody as long as the program runs, and putting it together and writing
    it takes the better part of a second: whoever asked for it often would hold up everybody.
    """
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)
    return made


@cache
def _written(form: str) -> str | bytes:
    renderer = next(one for one in Document.renderer_classes if one.format == form)
    return renderer().render(document(), renderer_context={})


class Document(SpectacularAPIView):  # type: ignore[misc]
    """The document as YAML or JSON, by what the caller takes."""

    @extend_schema(exclude=True)
    def get(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        renderer = request.accepted_renderer
        charset = f"; charset={renderer.charset}" if renderer.charset else ""
        return HttpResponse(
            _written(renderer.format),
            content_type=f"{renderer.media_type}{charset}",
            headers={"Content-Disposition": f'inline; filename="class-board.{renderer.format}"'},
        )


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
