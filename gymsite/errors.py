"""Errors: problem documents (RFC 9457) for programs, a plain page for people.

Services refuse with an exception that has a ``kind`` and ``items``; what that
means over HTTP is said here and nowhere else.
"""

import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig, SuspiciousOperation
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from drf_standardized_errors.formatter import ExceptionFormatter
from drf_standardized_errors.handler import ExceptionHandler
from drf_standardized_errors.types import ErrorResponse
from rest_framework import exceptions, serializers
from rest_framework.response import Response

from gymsite.outages import Outage, outage_of

MEDIA_TYPE = "application/problem+json"
# Tag URIs (RFC 4151) name our own kinds of problem; RFC 9457 section 3.1.1
# allows a type that leads nowhere. Everything else is about:blank, whose
# title is the status phrase.
TYPE_PREFIX = "tag:gymsite.invalid,2026:"
KINDS = {
    "invalid": (422, "That could not be taken as it is"),
    "conflict": (409, "That clashes with what is there"),
    "closed": (409, "The class takes no results now"),
    "forbidden": (403, "That is not yours to do"),
    "gone": (410, "That is no longer open"),
}
TOO_BIG = (
    "The body is larger than this site takes (2 MB). Nothing was saved. Send fewer lines at a time."
)


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: what, where (a JSON pointer), and what would do instead."""

    detail: str
    pointer: str = ""
    suggestion: str = ""
    code: str = "invalid"
    line: int | None = None

    def as_dict(self) -> dict[str, Any]:
        told: dict[str, Any] = {"detail": self.detail, "code": self.code}
        if self.pointer:
            told["pointer"] = self.pointer
        if self.suggestion:
            told["suggestion"] = self.suggestion
        if self.line is not None:
            told["line"] = self.line
        return told


class Problem(exceptions.APIException):
    """A refusal with its faults, ready to be a problem document."""

    def __init__(self, *, kind: str, faults: Iterable[Fault], detail: str = "") -> None:
        self.kind = kind
        self.status_code, self.title = KINDS[kind]
        self.faults = tuple(faults)
        super().__init__(detail or (self.faults[0].detail if self.faults else self.title), kind)


def pointer(name: str | None) -> str:
    """A JSON pointer (RFC 6901) of a dotted name: ``a.1.b`` → ``/a/1/b``."""
    if not name or name == "non_field_errors":
        return ""
    parts = [part for part in name.split(".") if part != "non_field_errors"]
    return "".join("/" + part.replace("~", "~0").replace("/", "~1") for part in parts)


def document(
    *,
    status: int,
    instance: str,
    detail: str = "",
    title: str = "",
    kind: str = "",
    faults: Iterable[Fault] = (),
) -> dict[str, Any]:
    """The problem document itself."""
    told: dict[str, Any] = {
        "type": TYPE_PREFIX + kind if kind else "about:blank",
        "title": title or HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "instance": instance,
    }
    listed = [fault.as_dict() for fault in faults]
    if listed:
        told["errors"] = listed
    return told


def _refusal(exc: Exception) -> Problem | None:
    """A service's refusal as a problem, told by its shape: it has a kind and items."""
    kind, items = getattr(exc, "kind", None), getattr(exc, "items", None)
    if kind not in KINDS or items is None or isinstance(exc, Problem):
        return None
    return Problem(
        kind=kind,
        faults=[
            Fault(
                detail=item.problem,
                pointer=pointer(item.column),
                suggestion=item.suggestion or "",
                code=kind,
                line=getattr(item, "line", None),
            )
            for item in items
        ],
    )


class ProblemHandler(ExceptionHandler):
    """Turns refusals into problems and names the media type."""

    def convert_known_exceptions(self, exc: Exception) -> Exception:
        if isinstance(exc, RequestDataTooBig):
            return TooBig()
        if outage := outage_of(exc):
            return Away(outage)
        if isinstance(exc, SuspiciousOperation):  # more parameters than are read, for one
            return exceptions.ParseError(str(exc) or "That can't be read as it was sent.")
        return _refusal(exc) or super().convert_known_exceptions(exc)

    def get_response(self, exc: exceptions.APIException, data: dict[str, Any]) -> Response:
        response = super().get_response(exc, data)
        response.content_type = MEDIA_TYPE
        return response


def _where(context: Mapping[str, Any]) -> str:
    request = context.get("request")
    return request.path if request is not None else ""


class Away(exceptions.APIException):
    """An outage; ``wait`` becomes the header Retry-After."""

    default_code = "away"

    def __init__(self, outage: Outage) -> None:
        self.status_code, self.wait = outage.status, outage.retry_after
        super().__init__(outage.said)


class TooBig(exceptions.APIException):
    status_code = 413
    default_detail = TOO_BIG
    default_code = "too_big"


class ProblemFormatter(ExceptionFormatter):
    """The body: one document, with one entry for each fault."""

    def format_error_response(self, error_response: ErrorResponse) -> dict[str, Any]:
        where = _where(self.context)
        status = self.exc.status_code
        if isinstance(self.exc, Problem):
            return document(
                status=status,
                instance=where,
                detail=str(self.exc.detail),
                title=self.exc.title,
                kind=self.exc.kind,
                faults=self.exc.faults,
            )
        if isinstance(self.exc, exceptions.ValidationError):
            faults = [
                Fault(detail=e.detail, pointer=pointer(e.attr), code=e.code)
                for e in error_response.errors
            ]
            return document(
                status=status,
                instance=where,
                detail=faults[0].detail if faults else "The body could not be read.",
                title="The body does not have the right shape",
                kind="shape",
                faults=faults,
            )
        if status >= 500 and not isinstance(self.exc, Away):
            return document(status=status, instance=where, detail=SERVER_DETAIL)
        return document(
            status=status,
            instance=where,
            detail=error_response.errors[0].detail if error_response.errors else "",
        )


class FaultSerializer(serializers.Serializer[Any]):
    detail = serializers.CharField()
    code = serializers.CharField()
    pointer = serializers.CharField(required=False, help_text="A JSON pointer into the body.")
    suggestion = serializers.CharField(required=False, help_text="What would be understood.")
    line = serializers.IntegerField(required=False, allow_null=True)


class ProblemSerializer(serializers.Serializer[Any]):
    """A problem document, RFC 9457."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField(allow_blank=True)
    instance = serializers.CharField()
    errors = FaultSerializer(many=True, required=False)  # type: ignore[assignment]


# --- pages ------------------------------------------------------------------

SERVER_DETAIL = "Something went wrong here, not with you. It was noted. Please try again."
_SAID = {
    400: ("That did not arrive whole", "Go back, reload the page and send it again."),
    403: (
        "That is not open to you",
        "You may need to sign in, or to ask a coach of your gym.",
    ),
    404: (
        "There is nothing here",
        "The address may be mistyped, or what it names belongs to another gym.",
    ),
    413: ("That was too large", TOO_BIG),
    429: ("That was too often", "Nothing was saved yet, and nothing is lost."),
    500: ("Something went wrong", SERVER_DETAIL),
}


def answer(request: HttpRequest, status: int, detail: str = "") -> HttpResponse:
    """An error for whoever asked: a document under /api/, a page elsewhere."""
    title, said = _SAID[status]
    if request.path.startswith("/api/"):
        return JsonResponse(
            document(status=status, instance=request.path, detail=detail or said),
            status=status,
            content_type=MEDIA_TYPE,
        )
    if status == 500:
        return _plain_page(status, title, detail or said)
    context = {"error_title": title, "error_said": detail or said, "status": status}
    return render(request, "error.html", context, status=status)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return answer(request, 413 if isinstance(exception, RequestDataTooBig) else 400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return answer(request, 403, str(exception))


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return answer(
        request,
        403,
        "The page was open for too long, or cookies are off. Reload it and send again.",
    )


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return answer(request, 404)


def server_error(request: HttpRequest) -> HttpResponse:
    """What could not be answered: our mistake, or something the site needs is away.

    Django calls this while it handles the error, wherever that came from: a view, a template,
    or a middleware that looks for the session.
    """
    outage = outage_of(sys.exc_info()[1])
    return answer(request, 500) if outage is None else _outage(request, outage)


def _outage(request: HttpRequest, outage: Outage) -> HttpResponse:
    if request.path.startswith("/api/"):
        told = document(status=outage.status, instance=request.path, detail=outage.said)
        response: HttpResponse = JsonResponse(told, status=outage.status, content_type=MEDIA_TYPE)
    else:
        response = _plain_page(outage.status, outage.title, outage.said)
    if outage.retry_after is not None:
        response["Retry-After"] = str(outage.retry_after)
    response["Cache-Control"] = "no-store"
    return response


def _plain_page(status: int, title: str, said: str) -> HttpResponse:
    """A page that depends on nothing that may just have failed: neither the session, nor the
    database, nor the context processors."""
    context = {"error_title": title, "error_said": said}
    return render(None, "500.html", context, status=status)  # type: ignore[arg-type]


# Seconds, where whoever counted has not said when the next is let through.
USUAL_WAIT = 60


def too_often(request: HttpRequest) -> HttpResponse:
    """Wait, then send the same again: the page keeps what was typed, to be sent as it is."""
    wait = getattr(request, "wait", USUAL_WAIT)
    if request.path.startswith("/api/"):
        answered = answer(request, 429, f"That was too often. Try again in {wait} seconds.")
    else:
        kept = [
            (name, value)
            for name, values in request.POST.lists()
            if name != "csrfmiddlewaretoken"
            for value in values
        ]
        title, said = _SAID[429]
        context = {"error_title": title, "error_said": said, "wait": wait, "kept": kept}
        context |= {"had_file": bool(request.FILES), "address": request.get_full_path()}
        answered = render(request, "429.html", context, status=429)
    answered["Retry-After"] = str(wait)
    return answered


class BodyLimitMiddleware:
    """Answers 413 before anything reads a body that is too large."""

    # Read and dropped up to here, so that the sender gets to see the answer
    # and not only a broken connection; past it the connection is broken.
    DRAIN = 32 * 1024 * 1024

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        try:
            length = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            length = 0
        if length <= settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            return self.get_response(request)
        if length <= self.DRAIN:
            while request.read(64 * 1024):
                pass
        # The page would look for a form token in the body; there is no body now.
        request._read_started = True  # type: ignore[attr-defined]
        return answer(request, 413)
