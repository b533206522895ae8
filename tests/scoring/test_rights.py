"""Rights that an owner keeps back from a coach."""

import pytest
from django.urls import reverse

from members import services as members_services
from members.models import CoachRight, Role
from members.problems import Refused as MembersRefused
from scoring.services import (
    submitting,
)

from ..conftest import NOW, add_member
from .classes import log, make_class


def test_a_right_kept_back_is_gone_and_given_back_is_there(people):
    for right, deed_of in (
        (CoachRight.MEMBERS, lambda: members_services.invite(by=people.coach, now=NOW)),
    ):
        members_services.withhold_rights(
            membership=people.coach, by=people.owner, withheld=[right], now=NOW
        )
        people.coach.refresh_from_db()
        with pytest.raises(MembersRefused):
            deed_of()
        members_services.withhold_rights(
            membership=people.coach, by=people.owner, withheld=[], now=NOW
        )
        people.coach.refresh_from_db()
        deed_of()


def test_only_an_owner_keeps_rights_back_and_only_from_coaches(people):
    other = add_member(people.gym, "Cara Second", Role.COACH)
    for by, whom in (
        (people.coach, other),
        (people.owner, people.ana),
        (people.owner, people.owner),
    ):
        with pytest.raises(MembersRefused):
            members_services.withhold_rights(membership=whom, by=by, withheld=["members"], now=NOW)
    assert submitting  # results are logged whatever rights are kept back
    log(make_class(people), people.ben, "1+0", by=people.coach)


def test_the_members_page_keeps_rights_back(client, people):
    client.force_login(people.owner.user)
    sent = {"act": "rights", "member": people.coach.pk, "right": ["credits"]}
    client.post(reverse("member-list"), sent)
    people.coach.refresh_from_db()
    assert people.coach.withheld == ["members"]
    client.force_login(people.coach.user)
    html = client.get(reverse("member-list")).content.decode()
    assert "An owner keeps the list of members" in html and "Make a link" not in html
