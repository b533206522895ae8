"""Members and invitations by the API."""

from django.urls import reverse

from members.models import Invitation, Membership

from .conftest import device, problem


def test_a_coach_enters_somebody_and_hands_the_entry_over(people, client):
    coach = device(people.coach)
    added = coach.post(reverse("api-members"), {"display_name": "  Dora   Neu "}).json()
    assert (added["display_name"], added["is_claimed"]) == ("Dora Neu", False)
    link = coach.post(reverse("api-invitations"), {"member": added["id"]})
    assert link.status_code == 201 and link.json()["member"] == added["id"]
    # The address leads to the page that lets its holder in.
    path = link.json()["address"].partition("testserver")[2]
    assert "Dora Neu" in client.get(path).content.decode()
    listed = coach.get(reverse("api-invitations")).json()["results"]
    assert listed[0]["id"] == link.json()["id"] and "address" not in listed[0]


def test_a_revoked_link_lets_nobody_in(people, client):
    coach = device(people.coach)
    link = coach.post(reverse("api-invitations"), {"max_uses": 5}).json()
    where = reverse("api-invitation", args=[link["id"]])
    assert coach.delete(where).status_code == coach.delete(where).status_code == 204
    assert client.get(link["address"].partition("testserver")[2]).status_code == 410
    problem(device(people.foreign_coach).delete(where), 404)


def test_only_owners_make_coaches(people):
    where = reverse("api-member", args=[people.ana.pk])
    problem(device(people.coach).patch(where, {"role": "coach"}), 403)
    problem(device(people.coach).post(reverse("api-invitations"), {"role": "owner"}), 403)
    assert device(people.owner).patch(where, {"role": "coach"}).json()["role"] == "coach"
    own = reverse("api-member", args=[people.owner.pk])
    problem(device(people.owner).patch(own, {"role": "member"}), 409)  # the last owner
    problem(device(people.owner).patch(where, {"role": "king"}), 400)


def test_members_neither_see_nor_change_the_list(people):
    ana = device(people.ana)
    problem(ana.get(reverse("api-members")), 403)
    problem(ana.post(reverse("api-members"), {"display_name": "Friend"}), 403)
    problem(ana.post(reverse("api-invitations"), {}), 403)
    assert not Invitation.objects.exists()
    assert not Membership.objects.filter(display_name="Friend").exists()


def test_a_name_that_cannot_be_kept_is_told(people):
    coach = device(people.coach)
    problem(coach.post(reverse("api-members"), {"display_name": "x" * 61}), 400)
    told = problem(coach.post(reverse("api-members"), {"display_name": "A‮b"}), 422)
    assert told["errors"][0]["pointer"] == "/display_name"
    problem(device(people.ana).patch(reverse("api-me"), {"shown_as": "loud"}), 400)
