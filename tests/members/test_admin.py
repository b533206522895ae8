"""The admin pages open for the owner of the installation and for nobody else."""

import pytest

from members.models import Membership, User


@pytest.mark.parametrize("model", ["user", "gym", "membership"])
def test_the_admin_lists_open_for_a_superuser_only(client, people, model):
    boss = User.objects.create_superuser("boss@example.org")
    address = f"/admin/members/{model}/"
    client.force_login(people.owner.user, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(address).status_code in (302, 403)
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(address).status_code == 200
    assert client.get(address + "add/").status_code == 200


def test_a_member_is_added_there(client, people):
    boss = User.objects.create_superuser("boss@example.org")
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")
    sent = {
        "gym": people.gym.pk, "display_name": "New Nia", "role": "member", "shown_as": "name",
        "joined_at_0": "2026-11-24", "joined_at_1": "18:30:00", "user": "",
        "left_at_0": "", "left_at_1": "",
    }  # fmt: skip
    assert client.post("/admin/members/membership/add/", sent).status_code == 302
    assert Membership.objects.filter(display_name="New Nia").exists()
