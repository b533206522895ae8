"""The whole path in a real browser, on a phone: sign in by code, log, board, history."""

import pytest
from django.urls import reverse

from scoring.models import State, StreamedClass

from ..conftest import TWO_LADDERS, make_people
from ..scoring.classes import make_class
from .steps import sign_in_by_code

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("phone", [True, False], ids=["js", "no js"], indirect=True)
def test_a_coach_writes_a_class_and_a_member_logs_and_sees_the_board(phone, live_server):
    people = make_people()
    faults = []
    phone.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)

    sign_in_by_code(phone, live_server.url, people.coach.user.email)
    phone.goto(live_server.url + reverse("class-new"))
    phone.get_by_label("The workout, as on a board").fill(TWO_LADDERS)
    phone.get_by_label("It starts at").fill("2026-11-24T18:30")
    phone.get_by_role("button", name="Preview").click()
    phone.get_by_text("then an AMRAP of 24 reps a round").first.wait_for()
    phone.get_by_role("button", name="Save the draft").click()
    phone.get_by_role("button", name="Open for logging").click()
    phone.get_by_text("members see it and can log").wait_for()
    streamed = StreamedClass.objects.get()
    assert (streamed.state, streamed.workout.text) == (State.OPEN, TWO_LADDERS)

    phone.context.clear_cookies()
    sign_in_by_code(phone, live_server.url, people.ana.user.email)
    phone.goto(live_server.url + "/")
    phone.get_by_role("link", name="Log my result").click()
    phone.get_by_label("Full rounds").fill("2")
    phone.get_by_label("8 reverse lunge").check()
    phone.get_by_label("Reps done in that set").fill("5")
    phone.get_by_label("tuck rock").first.check()
    phone.get_by_role("button", name="What does it score?").click()
    phone.get_by_text("As it stands").wait_for()
    assert "180" in phone.inner_text("#live")
    phone.get_by_role("button", name="Send my result").click()
    phone.wait_for_url("**/results/*/")
    assert "180 credited reps" in phone.inner_text("main")
    phone.goto(live_server.url + reverse("class-board", args=[streamed.pk]))
    assert "Ana Sol" in phone.inner_text("main")
    phone.goto(live_server.url + reverse("history"))
    assert "2+9" in phone.inner_text("main")
    assert faults == []


@pytest.mark.parametrize("phone", [True], ids=["js"], indirect=True)
def test_no_page_has_a_fault_that_axe_finds(phone, live_server, client):
    from axe_playwright_python.sync_playwright import Axe

    people = make_people()
    streamed = make_class(people)
    from ..scoring.classes import log

    result = log(streamed, people.ana, "2+9", "tuck rock").result
    client.force_login(people.coach.user, backend="django.contrib.auth.backends.ModelBackend")
    cookie = client.cookies["sessionid"].value
    pages = ["/cautions/", "/accounts/login/", "/"]
    found = {}
    axe = Axe()
    for signed_in in (False, True):
        if signed_in:
            phone.context.add_cookies(
                [{"name": "sessionid", "value": cookie, "url": live_server.url}]
            )
            pages = ["/", reverse("class-list"), reverse("history"), reverse("class-new")]
            names = ("class", "class-log", "class-board", "class-manage")
            pages += [reverse(name, args=[streamed.pk]) for name in names]
            pages += [reverse("result", args=[result.pk])]
        for page in pages:
            phone.goto(live_server.url + page)
            violations = axe.run(phone).response["violations"]
            if violations:
                found[page] = [(v["id"], v["nodes"][0]["html"][:90]) for v in violations]
    assert found == {}
