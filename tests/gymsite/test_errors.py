"""Errors: a problem document under /api/, a page elsewhere, never both or neither."""

import json

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.test import RequestFactory
from django.urls import reverse
from rest_framework import exceptions, serializers
from rest_framework.test import APIRequestFactory
from rest_framework.views import APIView

from gymsite import errors
from members.api.base import PreconditionFailed
from members.models import Membership
from members.problems import Refused

PROBLEM = "application/problem+json"


def answer_to(raised, path="/api/v1/x/"):
    """What an API view that raises answers, as (response, document)."""

    class View(APIView):
        permission_classes = ()
        throttle_classes = ()

        def get(self, request):
            raise raised

    response = View.as_view()(APIRequestFactory().get(path))
    response.render()
    return response, json.loads(response.content)


# The members of a problem document: RFC 9457 section 3.1.
@pytest.mark.parametrize(
    ("raised", "status", "title"),
    [
        (Http404(), 404, "Not Found"),
        (PermissionDenied(), 403, "Forbidden"),
        (exceptions.ParseError(), 400, "Bad Request"),
        (exceptions.MethodNotAllowed("PUT"), 405, "Method Not Allowed"),
        (exceptions.UnsupportedMediaType("text/csv"), 415, "Unsupported Media Type"),
        (PreconditionFailed(), 412, "Precondition Failed"),
    ],
)
def test_plain_errors_are_about_blank_with_the_phrase_as_title(raised, status, title):
    response, told = answer_to(raised)
    assert response.status_code == told["status"] == status
    assert response["Content-Type"] == PROBLEM
    # RFC 9457 section 4.2.1: the title of about:blank should be the status phrase.
    assert (told["type"], told["title"]) == ("about:blank", title)
    assert told["instance"] == "/api/v1/x/" and told["detail"]


def test_a_throttled_call_says_when_to_come_back():
    response, told = answer_to(exceptions.Throttled(wait=7))
    assert told["status"] == 429 and response["Retry-After"] == "7"


def test_wrong_fields_are_pointed_at():
    # RFC 6901 section 3: ~ and / in a name are written ~0 and ~1.
    raised = serializers.ValidationError(
        {"splits": [{}, {"a/b~c": ["Not a time."]}], "mark": ["?"]}
    )
    _, told = answer_to(raised)
    assert [e["pointer"] for e in told["errors"]] == ["/mark", "/splits/1/a~1b~0c"]
    assert told["errors"][1]["detail"] == "Not a time."


@pytest.mark.parametrize(
    ("kind", "status"), [("invalid", 422), ("conflict", 409), ("forbidden", 403), ("gone", 410)]
)
def test_a_services_refusal_keeps_its_suggestion(kind, status):
    response, told = answer_to(Refused("mark", "No.", "Write 2+9.", kind=kind))
    assert response.status_code == status and response["Content-Type"] == PROBLEM
    assert told["type"].startswith("tag:") and told["type"].endswith(kind)
    assert told["errors"] == [
        {"detail": "No.", "code": kind, "pointer": "/mark", "suggestion": "Write 2+9."}
    ]


def test_a_fault_of_ours_tells_nothing_of_the_inside():
    response, told = answer_to(RuntimeError("password=hunter2"))
    assert response.status_code == 500
    assert "hunter2" not in json.dumps(told) and told["detail"] == errors.SERVER_DETAIL


@pytest.mark.parametrize("path", ["/api/v1/nothing-here/", "/api/nothing"])
def test_an_unknown_address_under_api_is_a_document(client, db, path):
    answer = client.get(path)
    assert (answer.status_code, answer["Content-Type"]) == (404, PROBLEM)
    assert answer.json()["instance"] == path


def test_an_unknown_address_elsewhere_is_a_page(client, db):
    answer = client.get("/nothing-here/")
    assert answer.status_code == 404 and "There is nothing here" in answer.content.decode()


@pytest.mark.parametrize(
    ("path", "is_api"), [("/api/v1/classes/", True), ("/coach/members/", False)]
)
@pytest.mark.parametrize("kind", ["application/json", "multipart/form-data; boundary=x"])
def test_ten_megabytes_are_refused_in_plain_words(client, people, path, is_api, kind):
    client.force_login(people.coach.user)
    before = Membership.objects.count()
    answer = client.generic("POST", path, b"x" * 10_000_000, content_type=kind)
    assert answer.status_code == 413
    assert "larger than this site takes (2 MB)" in answer.content.decode()
    assert (answer["Content-Type"] == PROBLEM) is is_api
    assert Membership.objects.count() == before


def test_a_body_just_within_the_limit_gets_through(client, people):
    client.force_login(people.coach.user)
    sent = b"act=add&display_name=Small&pad="
    sent += b"x" * (2 * 1024 * 1024 - len(sent))
    answer = client.generic(
        "POST", reverse("member-list"), sent, content_type="application/x-www-form-urlencoded"
    )
    assert answer.status_code == 302
    assert Membership.objects.filter(display_name="Small").exists()


def test_a_length_that_is_no_number_is_no_crash():
    passed = errors.BodyLimitMiddleware(lambda request: HttpResponse("through"))
    request = RequestFactory().get("/x/", CONTENT_LENGTH="many")
    assert passed(request).content == b"through"


def test_server_errors_need_neither_session_nor_database():
    page = errors.server_error(RequestFactory().get("/x/"))
    assert page.status_code == 500 and "Something went wrong" in page.content.decode()
    api = errors.server_error(RequestFactory().get("/api/v1/x/"))
    assert api["Content-Type"] == PROBLEM and json.loads(api.content)["status"] == 500


def test_a_form_without_its_token_is_explained(people):
    from django.test import Client

    client = Client(enforce_csrf_checks=True)
    client.force_login(people.coach.user)
    answer = client.post(reverse("member-list"), {"act": "add", "display_name": "Forged"})
    assert answer.status_code == 403 and "Reload it" in answer.content.decode()
    assert not Membership.objects.filter(display_name="Forged").exists()
