"""A device that speaks for somebody."""

import pytest
from knox.models import get_token_model
from rest_framework.test import APIClient

PROBLEM = "application/problem+json"


def device(member):
    """A client with a token of the member's, ``None`` for a stranger."""
    client = APIClient()
    if member is not None:
        _, token = get_token_model().objects.create(user=member.user)
        client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    return client


@pytest.fixture
def api(db):
    return device


def problem(answer, status):
    """A problem document of this status (RFC 9457, section 3.1)."""
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == PROBLEM
    told = answer.json()
    assert told["status"] == status and told["title"] and told["type"]
    assert told["instance"] == answer.wsgi_request.path
    return told
