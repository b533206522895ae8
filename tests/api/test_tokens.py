"""Tokens for devices: made while signed in by a page, told once, revocable."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from knox.models import get_token_model
from rest_framework.test import APIClient

from .conftest import device, problem


@pytest.fixture
def page(people):
    client = APIClient()
    client.force_login(people.ana.user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_token_is_told_once_and_opens_the_api(page):
    made = page.post(reverse("api-tokens"))
    assert made.status_code == 201
    token = made.json()["token"]
    phone = APIClient(HTTP_AUTHORIZATION=f"Token {token}")
    assert phone.get(reverse("api-me")).json()["membership"]["display_name"] == "Ana Sol"
    listed = page.get(reverse("api-tokens")).json()["results"]
    assert [t["id"] for t in listed] == [made.json()["id"]] and "token" not in listed[0]
    # Kept only as a digest: a copied database opens nothing.
    assert token not in str(list(get_token_model().objects.values()))


def test_a_token_makes_no_tokens(people):
    problem(device(people.ana).post(reverse("api-tokens")), 403)


def test_a_revoked_or_old_token_opens_nothing(page):
    token = page.post(reverse("api-tokens")).json()
    phone = APIClient(HTTP_AUTHORIZATION=f"Token {token['token']}")
    assert phone.delete(reverse("api-token", args=[token["id"]])).status_code == 204
    problem(phone.get(reverse("api-me")), 401)
    old = page.post(reverse("api-tokens")).json()
    get_token_model().objects.update(expiry=timezone.now() - timedelta(seconds=1))
    phone.credentials(HTTP_AUTHORIZATION=f"Token {old['token']}")
    problem(phone.get(reverse("api-me")), 401)


def test_nobody_revokes_another_ones_token(people, page):
    token = page.post(reverse("api-tokens")).json()
    problem(device(people.ben).delete(reverse("api-token", args=[token["id"]])), 404)
    assert get_token_model().objects.filter(token_key=token["id"]).exists()


@pytest.mark.parametrize("sent", ["Token wrong", "Token", "Token a b", "Token \xff", "Bearer x"])
def test_a_wrong_token_is_told(people, sent):
    answer = APIClient(HTTP_AUTHORIZATION=sent).get(reverse("api-me"))
    problem(answer, 401)
    assert answer["WWW-Authenticate"].startswith("Token")


def test_a_signed_in_page_needs_its_form_token_to_write(people):
    client = Client(enforce_csrf_checks=True)
    client.force_login(people.ana.user, backend="django.contrib.auth.backends.ModelBackend")
    problem(client.post(reverse("api-tokens")), 403)
