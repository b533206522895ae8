"""The OpenAPI document: committed, true, and kept to by every answer."""

import os
from functools import cache
from pathlib import Path

import pytest
import yaml
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from drf_spectacular.renderers import OpenApiYamlRenderer
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from knox.models import get_token_model

from gymsite import docs
from gymsite.docs import document

from ..conftest import make_people
from ..scoring.classes import log, make_class
from .driving import checks, driven

SNAPSHOT = Path(__file__).resolve().parents[2] / "docs" / "openapi.yaml"
CASES = int(os.environ.get("FUZZ_WALKS", "12"))


@cache
def whole():
    """The document, ready to be driven; putting it together takes longer than a case."""
    return driven(document())


def test_the_committed_document_is_the_one_that_is_served():
    now = OpenApiYamlRenderer().render(document(), renderer_context={}).decode()
    assert yaml.safe_load(SNAPSHOT.read_text(encoding="utf-8")) == yaml.safe_load(now), (
        "Run make schema and look at what changed."
    )


def test_every_error_is_a_problem_document():
    for path, operations in document()["paths"].items():
        for method, operation in operations.items():
            for code, answer in operation["responses"].items():
                if code[0] in "45":
                    assert list(answer["content"]) == ["application/problem+json"], (path, method)


def test_the_document_and_its_page_are_served(client, db):
    assert client.get("/api/v1/schema/").status_code == 200
    page = client.get("/api/v1/docs/")
    assert page.status_code == 200 and "unsafe" not in page["Content-Security-Policy"]
    assert "script-src 'self'" in page["Content-Security-Policy"]


@pytest.mark.parametrize(
    "takes", ["application/vnd.oai.openapi", "application/vnd.oai.openapi+json"]
)
def test_the_document_is_put_together_once_and_says_the_same_to_everybody(
    client, db, takes, monkeypatch
):
    first = client.get("/api/v1/schema/", headers={"Accept": takes})
    assert yaml.safe_load(first.content) == yaml.safe_load(SNAPSHOT.read_text(encoding="utf-8"))
    assert first["Content-Type"].split(";")[0] == takes
    monkeypatch.setattr(docs.SchemaGenerator, "get_schema", lambda *a, **k: pytest.fail("again"))
    again = client.get("/api/v1/schema/?version=9&lang=xx", headers={"Accept": takes})
    assert again.content == first.content


@pytest.fixture
def one_connection():
    """Requests of a bare WSGI application would close the test's own connection."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


OPERATIONS = [
    (path, method)
    for path, operations in yaml.safe_load(SNAPSHOT.read_text(encoding="utf-8"))["paths"].items()
    for method in operations
    if method in ("get", "post", "patch", "delete", "put") and "/schema/" not in path
]


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_answers_keep_to_the_document(db, one_connection, path, method):
    people = make_people()
    streamed = make_class(people)
    result = log(streamed, people.ana, "2+9", "tuck rock").result
    _, token = get_token_model().objects.create(user=people.owner.user)
    looked_at = checks()
    operation = whole()[path][method.upper()]
    real = {"/classes/": streamed.pk, "/results/": result.pk, "/members/": people.ben.pk}
    known = next((pk for part, pk in real.items() if part in path), 1)

    @given(case=operation.as_strategy(), is_known=st.booleans())
    @settings(
        max_examples=CASES, deadline=None, database=None, derandomize=CASES == 12,
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    def holds(case, is_known):
        if is_known and "id" in (case.path_parameters or {}):
            case.path_parameters["id"] = known
        headers = {"Authorization": f"Token {token}", "Accept-Encoding": "identity"}
        answer = case.call(headers=headers)
        case.validate_response(answer, checks=looked_at)

    holds()
