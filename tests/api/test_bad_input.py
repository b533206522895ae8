"""Bodies that are too large, broken, or in an odd encoding: told, and nothing is kept."""

import json

import pytest
from django.conf import settings
from django.urls import reverse

from scoring.models import Fact

from ..scoring.classes import make_class
from .conftest import device, problem


@pytest.fixture
def where(people):
    return reverse("api-results", args=[make_class(people).pk])


def post(people, where, body, kind="application/json"):
    return device(people.ana).generic(
        "POST", where, body, content_type=kind, headers={"Idempotency-Key": "k"}
    )


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        (b"x" * 10_000_000, "application/json", 413),
        (b'{"mark": "2+9"', "application/json", 400),
        (b"", "application/json", 400),
        (b"[]", "application/json", 400),
        (b'"2+9"', "application/json", 400),
        (b"null", "application/json", 400),
        (b"[" * 100_000, "application/json", 400),
        (b'{"mark": NaN}', "application/json", 400),
        (b'{"mark": "2+9\xff"}', "application/json", 400),
        ('{"mark": "2+9"}'.encode("utf-16"), "application/json", 400),
        (b'{"mark": "2\\ud8009"}', "application/json", 400),
        (b"mark=2%2B9", "application/x-www-form-urlencoded", 415),
        (b"<mark>2+9</mark>", "text/xml", 415),
        (b'{"mark": "2+9"}', "", 415),
    ],
)
def test_it_is_told_and_nothing_is_kept(people, where, body, kind, status):
    problem(post(people, where, body, kind), status)
    assert not Fact.objects.exists()


# RFC 8259, sections 8.1 and 11: JSON is UTF-8, and a charset parameter has no effect.
def test_a_charset_says_nothing_of_json(people, where):
    kind = "application/json; charset=latin-9000"
    assert post(people, where, '{"mark": "2+9", "note": "é"}'.encode(), kind).status_code == 201
    assert Fact.objects.get().note == "é"


def test_letters_of_every_alphabet_are_kept(people, where):
    note = "Ćma 蛾 🦋 e\u0301"
    body = json.dumps({"mark": "2+9", "note": note}, ensure_ascii=False).encode()
    assert post(people, where, body).status_code == 201
    assert Fact.objects.get().note == note


def test_too_many_calls_are_told_when_to_come_back(people, where, monkeypatch):
    rates = settings.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"]
    monkeypatch.setitem(rates, "submit", "2/min")
    body = json.dumps({"mark": "2+9"}).encode()
    answers = [post(people, where, body) for _ in range(3)]
    assert [a.status_code for a in answers] == [201, 200, 429]
    problem(answers[-1], 429)
    assert 0 < int(answers[-1]["Retry-After"]) <= 60
