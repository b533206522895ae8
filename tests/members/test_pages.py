"""Joining by a link and a code, my own page, the coach's list; without JavaScript."""

import re
from datetime import timedelta
from html import unescape
from zoneinfo import ZoneInfo

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from members import services
from members.models import Invitation, Membership, Role, User

from ..conftest import add_member


def make_link(people, **given):
    made = services.invite(by=people.owner, now=timezone.now(), **given)
    return reverse("join", args=[made.token])


def code_from_mail():
    # allauth's codes: letters and digits in two groups, on a line of their own.
    return re.search(r"^[A-Z0-9]{3,6}-?[A-Z0-9]{3,6}$", mail.outbox[-1].body, re.M).group()


def follow(client, answer):
    """Go where a redirect leads, one step at a time; the last address and page."""
    where = None
    while answer.status_code in (301, 302):
        where = answer.url
        answer = client.get(where)
    return where, answer


def test_somebody_new_joins_by_a_link_and_a_code(client, people):
    link = make_link(people)
    page = client.get(link).content.decode()
    assert "Join Harbour Street" in page
    signup = re.search(r'href="(/accounts/signup/[^"]+)"', page).group(1)
    form = client.get(signup).content.decode()
    assert f'value="{link}"' in form and 'type="password"' not in form
    sent = {"email": "New@example.org", "next": link}
    where, answer = follow(client, client.post("/accounts/signup/", sent))
    assert answer.status_code == 200
    assert mail.outbox[-1].to == ["new@example.org"]
    where, answer = follow(client, client.post(where, {"code": code_from_mail()}))
    assert where == link and "Your name in the gym" in answer.content.decode()
    where, answer = follow(client, client.post(link, {"display_name": "Nia New"}))
    assert where == "/" and "as Nia New" in answer.content.decode()
    joined = Membership.objects.get(user__email="new@example.org")
    assert (joined.gym, joined.role) == (people.gym, Role.MEMBER)


def test_somebody_with_an_account_signs_in_by_a_code_and_is_led_back(client, people):
    User.objects.create_user("old@example.org")
    link = make_link(people)
    sent = {"email": "old@example.org", "next": link}
    where, _ = follow(client, client.post("/accounts/login/code/", sent))
    where, answer = follow(client, client.post(where, {"code": code_from_mail()}))
    assert where == link and answer.status_code == 200


def test_a_superuser_made_on_the_command_line_needs_one_code_too(client, db):
    User.objects.create_superuser("root@example.org")
    where, _ = follow(client, client.post("/accounts/login/code/", {"email": "root@example.org"}))
    where, _ = follow(client, client.post(where, {"code": code_from_mail()}))
    assert where == "/" and len(mail.outbox) == 1


def test_an_unknown_address_is_answered_as_a_known_one(client, people):
    known = client.post("/accounts/login/code/", {"email": people.ana.user.email})
    client.cookies.clear()
    unknown = client.post("/accounts/login/code/", {"email": "nobody@example.org"})
    assert (known.status_code, known.url) == (unknown.status_code, unknown.url)


def test_reading_a_link_joins_nobody(client, people):
    user = User.objects.create_user("reader@example.org")
    link = make_link(people)
    client.force_login(user)
    assert client.get(link).status_code == 200
    assert not Membership.objects.filter(user=user).exists()


def test_a_name_is_needed_to_join(client, people):
    client.force_login(User.objects.create_user("blank@example.org"))
    answer = client.post(make_link(people), {"display_name": " "})
    assert answer.status_code == 422 and "A name is needed" in answer.content.decode()


@pytest.mark.parametrize("how", ["unknown", "revoked", "expired", "used"])
@pytest.mark.parametrize("signed_in", [False, True])
def test_a_link_that_lets_nobody_in_says_why(client, people, how, signed_in):
    link = make_link(people)
    rows = Invitation.objects.all()
    if how == "unknown":
        rows.delete()
    elif how == "revoked":
        rows.update(revoked_at=timezone.now())
    elif how == "expired":
        rows.update(expires_at=timezone.now() - timedelta(seconds=1))
    else:
        rows.update(uses=1)
    if signed_in:
        client.force_login(User.objects.create_user("late@example.org"))
    for answer in (client.get(link), client.post(link, {"display_name": "Late"})):
        assert answer.status_code == 410
        assert "Ask your coach for a new one" in answer.content.decode()
        assert "Harbour Street" not in answer.content.decode()
    assert not Membership.objects.filter(display_name="Late").exists()


def test_a_member_opening_a_link_is_told_so(client, people):
    client.force_login(people.ana.user)
    link = make_link(people)
    assert "in already, as Ana Sol" in client.get(link).content.decode()
    Invitation.objects.update(uses=1)
    assert "in already, as Ana Sol" in client.get(link).content.decode()


def test_pages_of_a_secret_are_not_kept_by_browsers(client, people):
    assert "no-store" in client.get(make_link(people))["Cache-Control"]


@pytest.mark.parametrize(
    ("who", "status"),
    [("stranger", 302), ("no gym", 403), ("ana", 403), ("coach", 200), ("owner", 200)],
)
def test_who_reaches_the_list_of_members(client, people, who, status):
    if who == "no gym":
        client.force_login(User.objects.create_user("lost@example.org"))
    elif who != "stranger":
        client.force_login(getattr(people, who).user)
    url = reverse("member-list")
    assert client.get(url).status_code == status
    added = client.post(url, {"act": "add", "display_name": "Smuggled"})
    assert Membership.objects.filter(display_name="Smuggled").exists() is (status == 200)
    assert added.status_code == (302 if status == 200 else status)


def test_the_list_shows_only_ones_own_gym(client, people):
    client.force_login(people.coach.user)
    page = client.get(reverse("member-list")).content.decode()
    assert "Ana Sol" in page and "Finn Far" not in page


def test_a_coach_invites_and_the_link_is_shown_once(client, people):
    client.force_login(people.coach.user)
    url = reverse("member-list")
    page = client.post(url, {"act": "invite", "max_uses": "3", "days": "7"}).content.decode()
    link = re.search(r'value="http://testserver(/join/[^"]+)"', page).group(1)
    made = Invitation.objects.get()
    assert (made.max_uses, made.created_by, made.role) == (3, people.coach, Role.MEMBER)
    assert client.get(link).status_code == 200
    again = client.get(url).content.decode()
    assert link not in again and "0 of 3 used" in again
    client.post(url, {"act": "revoke", "invitation": made.pk})
    assert "of 3 used" not in client.get(url).content.decode()
    client.logout()
    assert client.get(link).status_code == 410


def test_an_entry_is_handed_over_by_its_own_link(client, people):
    client.force_login(people.coach.user)
    url = reverse("member-list")
    client.post(url, {"act": "add", "display_name": "Paula Paper"})
    entry = Membership.objects.get(display_name="Paula Paper")
    page = client.post(url, {"act": "claim", "member": entry.pk}).content.decode()
    link = re.search(r'value="http://testserver(/join/[^"]+)"', page).group(1)
    user = User.objects.create_user("paula@example.org")
    client.force_login(user)
    assert 'value="Paula Paper"' in client.get(link).content.decode()
    client.post(link, {"display_name": "Paula Paper"})
    entry.refresh_from_db()
    assert entry.user == user


def test_a_coach_makes_no_coaches_an_owner_does(client, people):
    url = reverse("member-list")
    sent = {"act": "role", "member": people.ana.pk, "role": "coach"}
    client.force_login(people.coach.user)
    assert client.post(url, sent).status_code == 403
    assert client.post(url, {"act": "invite", "role": "owner"}).status_code == 403
    client.force_login(people.owner.user)
    assert client.post(url, sent).status_code == 302
    people.ana.refresh_from_db()
    assert people.ana.role == Role.COACH
    last = client.post(url, {"act": "role", "member": people.owner.pk, "role": "member"})
    assert last.status_code == 409 and "needs an owner" in last.content.decode()


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"act": "dance"},
        {"act": "invite", "max_uses": "many"},
        {"act": "invite", "max_uses": "1", "days": "-1"},
        {"act": "claim", "member": "9" * 30},
        {"act": "claim", "member": "²"},
        {"act": "role", "member": "x", "role": "coach"},
        {"act": "revoke", "invitation": "x"},
        {"act": "add", "display_name": "n" * 500},
    ],
)
def test_nonsense_sent_to_the_list_is_told_and_changes_nothing(client, people, sent):
    client.force_login(people.owner.user)
    before = list(Membership.objects.values().order_by("pk"))
    answer = client.post(reverse("member-list"), sent)
    assert answer.status_code in (409, 422) and 'role="alert"' in answer.content.decode()
    assert list(Membership.objects.values().order_by("pk")) == before
    assert not Invitation.objects.exists()


def test_somebody_in_two_gyms_chooses_where_they_look(client, people):
    user = people.ana.user
    Membership.objects.create(gym=people.stranger_gym, user=user, display_name="Ana far")
    client.force_login(user)
    assert "Hilltop" in client.get(reverse("profile")).content.decode()
    client.post(reverse("gym-choose"), {"gym": people.stranger_gym.pk})
    page = client.get(reverse("profile")).content.decode()
    assert "Me in Hilltop" in page and 'value="Ana far"' in page
    third = services.create_gym(name="Third", slug="third", owner=people.ben.user, owner_name="Ben")
    foreign = client.post(reverse("gym-choose"), {"gym": third.gym_id})
    assert foreign.status_code == 404
    assert "Me in Hilltop" in client.get(reverse("profile")).content.decode()


def test_leaving_a_gym_ends_seeing_it_at_once(client, people):
    client.force_login(people.ana.user)
    assert client.get(reverse("profile")).status_code == 200
    Membership.objects.filter(pk=people.ana.pk).update(left_at=timezone.now())
    assert client.get(reverse("profile")).status_code == 403


def test_a_member_chooses_how_they_are_shown(client, people):
    client.force_login(people.ana.user)
    url = reverse("profile")
    assert client.post(url, {"display_name": "Ana S", "shown_as": "unnamed"}).status_code == 302
    people.ana.refresh_from_db()
    assert (people.ana.display_name, people.ana.shown_as) == ("Ana S", "unnamed")
    bad = client.post(url, {"display_name": "Ana S", "shown_as": "crown"})
    assert bad.status_code == 422


def test_names_are_text_and_not_markup(client, people):
    add_member(people.gym, "<b>Bo</b>", email="bo@example.org")
    client.force_login(people.coach.user)
    page = client.get(reverse("member-list")).content.decode()
    assert "<b>Bo" not in page and "&lt;b&gt;Bo" in page


def test_a_new_link_says_what_it_is_good_for_and_can_be_taken_back_there(client, people):
    client.force_login(people.coach.user)
    url = reverse("member-list")
    page = client.post(url, {"act": "invite", "max_uses": "12", "days": "3"}).content.decode()
    notice = re.search(r'<div class="notice.*?</form>', page, re.S).group()
    made = Invitation.objects.get()
    # Harbour Street keeps Lisbon's time.
    until = timezone.localtime(made.expires_at, ZoneInfo("Europe/Lisbon"))
    assert "12 people" in notice and f"{until:%H:%M}" in notice and f"{until.day} " in notice
    assert re.search(r'id="new-link" value="http://testserver/join/[^"]{43}/" readonly', notice)
    assert f'name="invitation" value="{made.pk}"' in notice and 'value="revoke"' in notice
    assert "Take this link back" in notice


def test_a_coach_is_shown_no_button_that_only_owners_may_press(client, people):
    services.invite(by=people.owner, now=timezone.now(), role=Role.COACH)
    entry = Membership.objects.create(gym=people.gym, display_name="To be", role=Role.COACH)
    url = reverse("member-list")
    for who, may in ((people.coach, False), (people.owner, True)):
        client.force_login(who.user)
        page = client.get(url).content.decode()
        assert ("Take back link 1" in page) is may
        assert (f"Make a link for {entry.display_name}" in page) is may
        assert ("Remove Olga Owner from the gym" in page) is may
        assert ("Save the role of Ana Sol" in page) is may
        assert "Remove Ana Sol from the gym" in page


def test_a_coach_removes_a_member_who_then_sees_the_gym_no_more(client, people):
    client.force_login(people.coach.user)
    url = reverse("member-list")
    answer = client.post(url, {"act": "remove", "member": people.ana.pk}, follow=True)
    page = answer.content.decode()
    assert "Ana Sol is no longer in the gym." in page and "Remove Ana Sol" not in page
    assert client.post(url, {"act": "remove", "member": people.owner.pk}).status_code == 403
    assert client.post(url, {"act": "remove", "member": people.foreigner.pk}).status_code == 422
    client.force_login(people.ana.user)
    assert client.get(reverse("profile")).status_code == 403


def test_what_was_typed_stays_when_it_is_refused(client, people):
    client.force_login(people.owner.user)
    sent = {"act": "invite", "max_uses": "500", "days": "30", "role": "coach"}
    page = client.post(reverse("member-list"), sent).content.decode()
    assert "A link is for 1 to 200 people." in page
    assert 'value="500"' in page and 'value="30"' in page
    assert 'value="coach" selected' in page


def test_somebody_in_the_gym_is_told_that_an_entry_does_not_become_theirs(client, people):
    entry = services.add_member(by=people.coach, display_name="Paula", now=timezone.now())
    link = make_link(people, membership=entry)
    client.force_login(people.ana.user)
    page = client.get(link).content.decode()
    assert "Nothing of the entry of Paula has" in page and "Make it mine" not in page
    answer = client.post(link, {"display_name": "Paula"})
    assert answer.status_code == 409 and "in this gym already" in answer.content.decode()
    assert Membership.objects.get(pk=entry.pk).user is None


def test_the_wrong_account_can_be_left_on_the_way_in(client, people):
    link = make_link(people)
    client.force_login(User.objects.create_user("shared@example.org"))
    page = client.get(link).content.decode()
    out = re.search(r'href="(/accounts/logout/[^"]+)"', page).group(1)
    assert f'value="{link}"' in client.get(out).content.decode()
    where, answer = follow(client, client.post(out, {"next": link}))
    assert where == link and "I am new here" in answer.content.decode()


def test_who_opens_the_link_again_while_a_code_waits_still_comes_back_to_it(client, people):
    link = make_link(people)
    User.objects.create_user("old@example.org")
    client.get(link)
    client.post("/accounts/login/code/", {"email": "old@example.org", "next": link})
    page = client.get(link).content.decode()
    again = re.search(r'href="([^"]+)">I have an account', page).group(1)
    where, answer = follow(client, client.get(again))
    form = re.search(r"<form method.*?</form>", answer.content.decode(), re.S).group()
    assert "Type the code" in answer.content.decode() and f'value="{link}"' in form
    sent = {"code": code_from_mail(), "next": link}
    where, answer = follow(client, client.post("/accounts/login/code/confirm/", sent))
    assert where == link and "Your name in the gym" in answer.content.decode()


@pytest.mark.parametrize("way", ["signup/", "login/code/"])
def test_a_mistyped_address_is_put_right_without_losing_the_invitation(client, people, way):
    link = make_link(people)
    answer = client.post(f"/accounts/{way}", {"email": "nai@example.org", "next": link})
    _, answer = follow(client, answer)
    form = re.search(r'<form id="another-address".*?</form>', answer.content.decode(), re.S).group()
    back = unescape(re.search(r'name="next" value="([^"]+)"', form).group(1))
    where, answer = follow(client, client.post("/accounts/logout/", {"next": back}))
    assert where == back and f'name="next" value="{link}"' in answer.content.decode()
