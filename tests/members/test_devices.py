"""The page of one's own tokens."""

import re

from django.urls import reverse
from knox.models import get_token_model
from rest_framework.test import APIClient


def test_a_token_is_shown_once_works_and_is_taken_back(people, client):
    client.force_login(people.ana.user)
    page = reverse("device-list")
    shown = client.post(page, {"act": "make"}).content.decode()
    token = re.search(r'id="made" type="text" value="(\w+)"', shown)[1]
    assert token not in client.get(page).content.decode()
    phone = APIClient(HTTP_AUTHORIZATION=f"Token {token}")
    assert phone.get(reverse("api-me")).status_code == 200
    key = get_token_model().objects.get().token_key
    # Somebody else's page takes nothing back.
    client.force_login(people.ben.user)
    client.post(page, {"act": "revoke", "token": key})
    assert phone.get(reverse("api-me")).status_code == 200
    client.force_login(people.ana.user)
    client.post(page, {"act": "revoke", "token": key})
    assert phone.get(reverse("api-me")).status_code == 401


def test_looking_makes_no_token(people, client):
    client.force_login(people.ana.user)
    assert client.get(reverse("device-list")).status_code == 200
    assert not get_token_model().objects.exists()
