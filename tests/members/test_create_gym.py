"""``manage.py create_gym``: a gym and its owner, who then gets in by a code."""

import re
from io import StringIO

import pytest
from django.core import mail
from django.core.management import CommandError, call_command

from members.models import AuditEntry, Gym, Membership, Role, User

pytestmark = pytest.mark.django_db


def run(*args):
    out = StringIO()
    call_command("create_gym", *args, stdout=out)
    return out.getvalue()


def test_it_makes_the_gym_and_its_owner_and_says_what_comes_next():
    said = run("North Pier", "--timezone", "Europe/Lisbon", "--owner", " Ida@Example.org ")
    owner = Membership.objects.get()
    assert (owner.gym.name, owner.gym.slug, owner.gym.timezone) == (
        "North Pier", "north-pier", "Europe/Lisbon",
    )  # fmt: skip
    assert (owner.role, owner.user.email) == (Role.OWNER, "ida@example.org")
    assert not owner.user.has_usable_password() and not owner.user.is_staff
    assert "ida@example.org" in said and "code comes by e-mail" in said
    assert AuditEntry.objects.get().what == "make-gym"


def test_the_owner_signs_in_by_the_code_and_is_in_the_gym(client):
    run("North Pier", "--owner", "ida@example.org", "--owner-name", "Ida")
    client.post("/accounts/login/", {"login": "ida@example.org"}, follow=True)
    code = re.search(r"^\s*([A-Z0-9]{3,}-?[A-Z0-9]{3,})\s*$", mail.outbox[0].body, re.M)[1]
    client.post("/accounts/login/code/confirm/", {"code": code}, follow=True)
    assert "<h1>Now</h1>" in client.get("/").text


def test_who_has_an_account_owns_a_second_gym_with_it():
    run("North Pier", "--owner", "ida@example.org")
    run("South Pier", "--owner", "ida@example.org")
    assert User.objects.count() == 1 and Membership.objects.count() == 2


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("North Pier", "--owner", "ida"), "is no e-mail address"),
        (("North Pier", "--owner", "i@example.org", "--timezone", "Mars/Base"), "Mars/Base"),
        (("South Pier", "--owner", "i@example.org", "--slug", "here"), "give another --slug"),
        (("…", "--owner", "i@example.org"), "give one with --slug"),
    ],
)
def test_what_cannot_be_says_what_would_be_right_and_leaves_nothing(args, said):
    Gym.objects.create(name="Here", slug="here")
    with pytest.raises(CommandError, match=re.escape(said)):
        run(*args)
    assert Gym.objects.count() == 1 and not User.objects.exists()
