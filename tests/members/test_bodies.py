"""Year of birth and body weight: told by choice, seen by nobody else; gyms' defaults; leaving."""

from decimal import Decimal

import pytest

from members.bodies import BodyTold, body_of, save_body
from members.gyms import change_gym
from members.leaving import leave_gym
from members.models import Body, Membership, User
from members.problems import Refused
from members.services import accept_invitation, add_member, change_role, invite

from ..conftest import NOW


def tell(member, year="", weight=""):
    return save_body(membership=member, year_of_birth=year, weight=weight, this_year=2026)


def test_a_body_is_seen_by_its_member_alone(people):
    tell(people.ana, "1987", "61,4")
    told = BodyTold(1987, Decimal("61.40"))
    assert body_of(member=people.ana, viewer=people.ana) == told
    for viewer in (None, people.ben, people.coach, people.owner, people.foreigner):
        assert body_of(member=people.ana, viewer=viewer) == BodyTold()


def test_pounds_are_kept_as_kilograms(people):
    # 1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959)
    assert tell(people.ana, weight="150 lb").weight == Decimal("68.04")


def test_what_was_told_can_be_taken_back(people):
    tell(people.ana, "1987", "61.4")
    assert tell(people.ana, "", "61.4") == BodyTold(None, Decimal("61.40"))
    tell(people.ana)
    assert not Body.objects.exists()


@pytest.mark.parametrize(
    ("year", "weight"),
    [("87", ""), ("1899", ""), ("2017", ""), ("١٩٨٧", ""), ("", "heavy"), ("", "19.9"),
     ("", "401"), ("", "1e2"), ("", "."), ("", "-70"), ("", "١٩")],
)  # fmt: skip
def test_what_is_no_year_or_weight_is_told_and_nothing_kept(people, year, weight):
    with pytest.raises(Refused):
        tell(people.ana, year, weight)
    assert not Body.objects.exists()


def test_a_page_says_why_it_asks_and_who_sees_it(client, people):
    client.force_login(people.ana.user)
    page = client.get("/me/body/").content.decode()
    assert "You alone see this" in page and "age band" in page
    assert client.post("/me/body/", {"year_of_birth": "1987", "weight": "x"}).status_code == 422
    client.post("/me/body/", {"year_of_birth": "1987", "weight": "61.4"})
    assert 'value="61.40"' in client.get("/me/body/").content.decode()


def test_no_admin_page_knows_bodies():
    from django.contrib import admin

    assert Body not in admin.site._registry
    assert "body" not in str(admin.site._registry[Membership].get_fields)


def test_who_joins_is_shown_as_the_gym_set_it_and_who_is_in_stays(people):
    change_gym(by=people.owner, shown_as_default="unnamed")
    people.coach.gym.refresh_from_db()
    entry = add_member(by=people.coach, display_name="Nia", now=NOW)
    link = invite(by=people.coach, now=NOW)
    user = User.objects.create_user("neo@example.org")
    joined = accept_invitation(token=link.token, user=user, display_name="Neo", now=NOW)
    assert (entry.shown_as, joined.shown_as) == ("unnamed", "unnamed")
    people.ana.refresh_from_db()
    assert people.ana.shown_as == "name"


def test_only_owners_set_it(people, client):
    with pytest.raises(Refused):
        change_gym(by=people.coach, shown_as_default="unnamed")
    with pytest.raises(Refused):
        change_gym(by=people.owner, shown_as_default="a mask")
    client.force_login(people.owner.user)
    assert client.post("/coach/gym/", {"shown_as_default": "a mask"}).status_code == 422
    assert client.post("/coach/gym/", {"shown_as_default": "initials"}).status_code == 302
    people.gym.refresh_from_db()
    assert people.gym.shown_as_default == "initials"


def test_the_last_owner_stays_until_there_is_another(people):
    with pytest.raises(Refused, match="last owner of Harbour Street"):
        leave_gym(membership=people.owner, now=NOW)
    change_role(membership=people.coach, by=people.owner, role="owner")
    assert leave_gym(membership=people.owner, now=NOW).left_at == NOW
    with pytest.raises(Refused):
        leave_gym(membership=people.coach, now=NOW)


def test_who_left_sees_nothing_and_comes_back_to_their_own(people, client):
    leave_gym(membership=people.ana, now=NOW)
    client.force_login(people.ana.user)
    assert client.get("/classes/").status_code == 403
    link = invite(by=people.coach, now=NOW)
    back = accept_invitation(
        token=link.token, user=people.ana.user, display_name="Ana Sol", now=NOW
    )
    assert back.pk == people.ana.pk and back.left_at is None
