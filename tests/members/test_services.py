"""Who may let whom in, and what a link is good for."""

import hashlib
from datetime import timedelta

import pytest

from members import services
from members.models import Invitation, Membership, Role, User
from members.problems import Refused
from members.selectors import invitation_for, membership_for, open_invitations

from ..conftest import NOW, add_member


@pytest.fixture
def dora(db):
    return User.objects.create_user("Dora@Example.org")


def accept(token, user, name="Dora Lin", now=NOW):
    return services.accept_invitation(token=token, user=user, display_name=name, now=now)


def refused(kind, act):
    with pytest.raises(Refused) as caught:
        act()
    assert caught.value.kind == kind
    return caught.value.items[0]


def test_a_link_lets_its_holder_in_as_a_member(people, dora):
    made = services.invite(by=people.coach, now=NOW)
    joined = accept(made.token, dora)
    assert (joined.gym, joined.user, joined.role) == (people.gym, dora, Role.MEMBER)
    assert membership_for(dora, people.gym) == joined
    made.invitation.refresh_from_db()
    assert made.invitation.uses == 1


def test_a_token_has_256_bits_and_only_its_hash_is_kept(people):
    made = services.invite(by=people.coach, now=NOW)
    assert len(made.token) == 43  # 32 bytes in base64url, RFC 4648 section 5, no padding
    row = Invitation.objects.values().get()
    assert made.token not in str(row)
    assert row["token_hash"] == hashlib.sha256(made.token.encode()).hexdigest()
    assert invitation_for(made.token) == made.invitation
    assert invitation_for(row["token_hash"]) is None


def test_a_link_ends_at_its_hour(people, dora):
    made = services.invite(by=people.coach, now=NOW, days=2)
    item = refused("gone", lambda: accept(made.token, dora, now=NOW + timedelta(days=2)))
    assert item.problem == "This link has run out."
    assert accept(made.token, dora, now=NOW + timedelta(days=2, microseconds=-1))


def test_a_revoked_link_lets_nobody_in(people, dora):
    made = services.invite(by=people.coach, now=NOW, max_uses=5)
    services.revoke(invitation=made.invitation, by=people.coach, now=NOW)
    assert "taken back" in refused("gone", lambda: accept(made.token, dora)).problem
    assert not open_invitations(people.gym, now=NOW)


def test_a_link_is_used_up(people, dora):
    made = services.invite(by=people.coach, now=NOW, max_uses=1)
    accept(made.token, User.objects.create_user("first@example.org"), "First")
    assert "as many people" in refused("gone", lambda: accept(made.token, dora)).problem
    assert membership_for(dora, people.gym) is None


def test_a_made_up_token_leads_nowhere(people, dora):
    for token in ("", "nonsense", "ü\x00", "\ud800"):
        refused("gone", lambda token=token: accept(token, dora))


def test_who_is_in_already_uses_nothing_up_and_keeps_their_role(people):
    made = services.invite(by=people.owner, now=NOW, role=Role.COACH)
    assert accept(made.token, people.ana.user, "Another Name") == people.ana
    people.ana.refresh_from_db()
    made.invitation.refresh_from_db()
    assert (people.ana.display_name, people.ana.role) == ("Ana Sol", Role.MEMBER)
    assert made.invitation.uses == 0


def test_who_left_comes_back_to_their_own_entry(people):
    Membership.objects.filter(pk=people.ana.pk).update(left_at=NOW)
    made = services.invite(by=people.coach, now=NOW)
    assert accept(made.token, people.ana.user, "Ana S").pk == people.ana.pk
    assert membership_for(people.ana.user, people.gym).display_name == "Ana S"


def test_an_entry_made_by_the_coach_is_claimed_once(people, dora):
    entry = services.add_member(by=people.coach, display_name="  Dora   L ", now=NOW)
    assert entry.user is None and entry.display_name == "Dora L"
    made = services.invite(by=people.coach, now=NOW, membership=entry, max_uses=9)
    second = services.invite(by=people.coach, now=NOW, membership=entry)
    assert made.invitation.max_uses == 1
    assert accept(made.token, dora).pk == entry.pk
    other = User.objects.create_user("other@example.org")
    refused("gone", lambda: accept(second.token, other))
    entry.refresh_from_db()
    assert entry.user == dora
    refused("conflict", lambda: services.invite(by=people.coach, now=NOW, membership=entry))


def test_a_member_cannot_take_a_second_entry(people):
    entry = services.add_member(by=people.coach, display_name="Double", now=NOW)
    made = services.invite(by=people.coach, now=NOW, membership=entry)
    item = refused("conflict", lambda: accept(made.token, people.ana.user))
    assert "as Ana Sol" in item.problem
    entry.refresh_from_db()
    made.invitation.refresh_from_db()
    assert entry.user is None and made.invitation.uses == 0


def test_only_coaches_add_and_invite_and_only_owners_make_coaches(people):
    refused("forbidden", lambda: services.add_member(by=people.ana, display_name="X", now=NOW))
    refused("forbidden", lambda: services.invite(by=people.ana, now=NOW))
    for role in (Role.COACH, Role.OWNER):
        refused("forbidden", lambda role=role: services.invite(by=people.coach, now=NOW, role=role))
        assert services.invite(by=people.owner, now=NOW, role=role).invitation.role == role


def test_a_coach_cannot_hand_over_an_entry_that_is_a_coach(people):
    entry = Membership.objects.create(gym=people.gym, display_name="To be", role=Role.COACH)
    refused("forbidden", lambda: services.invite(by=people.coach, now=NOW, membership=entry))
    assert services.invite(by=people.owner, now=NOW, membership=entry)


def test_other_gyms_are_out_of_reach(people):
    theirs = Membership.objects.create(gym=people.stranger_gym, display_name="Far")
    refused("forbidden", lambda: services.invite(by=people.coach, now=NOW, membership=theirs))
    foreign = services.invite(by=people.foreign_coach, now=NOW).invitation
    refused("forbidden", lambda: services.revoke(invitation=foreign, by=people.coach, now=NOW))
    refused(
        "forbidden",
        lambda: services.change_role(membership=people.foreigner, by=people.owner, role=Role.COACH),
    )


def test_roles_change_by_owners_and_the_last_owner_stays(people):
    def change(who, by, role):
        return services.change_role(membership=who, by=by, role=role)

    refused("forbidden", lambda: change(people.ana, people.coach, Role.COACH))
    refused("invalid", lambda: change(people.ana, people.owner, "king"))
    refused("conflict", lambda: change(people.owner, people.owner, Role.COACH))
    # An owner nobody can sign in as does not count.
    Membership.objects.create(gym=people.gym, display_name="Paper", role=Role.OWNER)
    refused("conflict", lambda: change(people.owner, people.owner, Role.COACH))
    assert change(people.coach, people.owner, Role.OWNER).is_owner
    assert change(people.owner, people.owner, Role.MEMBER).role == Role.MEMBER
    # The row decides, not what an old page still believes.
    refused("forbidden", lambda: change(people.ana, people.owner, Role.COACH))


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "evil\u202egnp", "half \ud800"])
def test_names_that_cannot_stand_on_a_board_are_refused(people, name):
    item = refused(
        "invalid", lambda: services.add_member(by=people.coach, display_name=name, now=NOW)
    )
    assert item.column == "display_name" and item.suggestion


@pytest.mark.parametrize("given", [{"max_uses": 0}, {"max_uses": 201}, {"days": 0}, {"days": 91}])
def test_links_have_bounds(people, given):
    refused("invalid", lambda: services.invite(by=people.coach, now=NOW, **given))


def test_a_gym_begins_with_its_owner(db, dora):
    owner = services.create_gym(name="North", slug="north", owner=dora, owner_name="Dora")
    assert owner.is_owner and owner.gym.slug == "north"


def test_a_name_on_the_board_is_the_members_own_choice(people):
    services.change_profile(membership=people.ana, display_name="Ana B", shown_as="initials")
    people.ana.refresh_from_db()
    assert (people.ana.display_name, people.ana.shown_as) == ("Ana B", "initials")
    refused(
        "invalid",
        lambda: services.change_profile(membership=people.ana, display_name="A", shown_as="hidden"),
    )


def test_an_address_is_one_account_whatever_its_case(dora):
    assert dora.email == "dora@example.org"
    assert User.objects.get_by_natural_key("DORA@example.org") == dora


def test_a_member_who_left_is_no_coach(people):
    gone = add_member(people.gym, "Gone", Role.OWNER)
    gone.left_at = NOW
    assert not gone.is_coach and not gone.is_owner


def test_who_is_removed_sees_nothing_and_comes_back_by_a_new_link(people):
    gone = services.remove_member(membership=people.ana, by=people.coach, now=NOW)
    assert gone.left_at == NOW and membership_for(people.ana.user, people.gym) is None
    later = NOW + timedelta(days=1)
    again = services.remove_member(membership=people.ana, by=people.coach, now=later)
    assert again.left_at == NOW
    made = services.invite(by=people.coach, now=later)
    assert accept(made.token, people.ana.user, "Ana Sol", now=later) == people.ana


def test_removing_an_entry_ends_its_own_links_and_no_others(people, dora):
    entry = services.add_member(by=people.coach, display_name="Paula", now=NOW)
    claim = services.invite(by=people.coach, now=NOW, membership=entry)
    other = services.invite(by=people.coach, now=NOW)
    services.remove_member(membership=entry, by=people.coach, now=NOW)
    assert "taken back" in refused("gone", lambda: accept(claim.token, dora)).problem
    assert list(open_invitations(people.gym, now=NOW)) == [other.invitation]


def test_who_may_remove_whom(people):
    def remove(who, by):
        return services.remove_member(membership=who, by=by, now=NOW)

    refused("forbidden", lambda: remove(people.ben, people.ana))
    refused("forbidden", lambda: remove(people.foreigner, people.owner))
    refused("forbidden", lambda: remove(people.owner, people.coach))
    refused("forbidden", lambda: remove(people.coach, people.coach))
    item = refused("conflict", lambda: remove(people.owner, people.owner))
    assert item.suggestion == "Make somebody else an owner first."
    assert remove(people.coach, people.owner).left_at == NOW
    # What an old page still believes does not count.
    refused("forbidden", lambda: remove(people.ana, people.coach))
    assert Membership.objects.get(pk=people.ana.pk).left_at is None
