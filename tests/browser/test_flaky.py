"""A network that comes and goes in the middle of logging: one result, nothing lost."""

import pytest
from django.urls import reverse

from scoring.models import Fact, Pain, Result

from ..conftest import make_people
from ..scoring.classes import make_class
from .steps import sign_in_by_code

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
with_script = pytest.mark.parametrize("phone", [True], ids=["js"], indirect=True)


@pytest.fixture
def at_the_log(phone, live_server):
    people = make_people()
    streamed = make_class(people)
    sign_in_by_code(phone, live_server.url, people.ana.user.email)
    phone.goto(live_server.url + reverse("class-log", args=[streamed.pk]))
    phone.get_by_label("Full rounds").fill("2")
    phone.get_by_label("8 reverse lunge").check()
    phone.get_by_label("Reps done in that set").fill("5")
    return phone


def press(page):
    page.get_by_role("button", name="Send my result").click()


def state(page, words):
    page.locator("#draft-state", has_text=words).wait_for()


@with_script
def test_cut_off_it_says_so_and_sends_by_itself_when_the_network_is_back(at_the_log):
    page = at_the_log
    page.context.set_offline(True)
    press(page)
    state(page, "Not sent yet: it is kept on this phone")
    assert not Fact.objects.exists()
    page.context.set_offline(False)
    page.wait_for_url("**/results/*/")
    assert Fact.objects.get().mark == "2+9"
    # Confirmed, the phone forgets it.
    assert page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('draft-'))") == []


@with_script
def test_an_answer_that_got_lost_makes_no_second_result(at_the_log):
    page, losses = at_the_log, []

    def lose(route):
        if route.request.method == "POST" and not losses:
            route.fetch(max_redirects=0)  # the server has it, the phone never hears
            losses.append(1)
            route.abort()
        else:
            route.continue_()

    page.route("**/log/", lose)
    press(page)
    state(page, "Not sent yet")
    assert Fact.objects.count() == 1
    page.wait_for_url("**/results/*/")
    assert Fact.objects.count() == Result.objects.count() == 1 and losses


@with_script
def test_sent_too_often_it_waits_and_sends_by_itself(at_the_log):
    page, refusals = at_the_log, []

    def refuse(route):
        if route.request.method == "POST" and not refusals:
            refusals.append(1)
            route.fulfill(status=429, headers={"Retry-After": "2"}, body="")
        else:
            route.continue_()

    page.route("**/log/", refuse)
    press(page)
    state(page, "Too many at once. Not sent yet")
    page.wait_for_url("**/results/*/")
    assert Fact.objects.get().mark == "2+9" and refusals


@with_script
def test_signing_out_leaves_nothing_typed_in_the_browser(at_the_log, live_server):
    page = at_the_log
    page.get_by_label("Reps done in that set").fill("6")
    state(page, "Kept on this phone")
    kept = "Object.keys(localStorage).filter(k => k.startsWith('draft-')).length"
    assert page.evaluate(kept) == 1
    page.goto(live_server.url + reverse("account_logout"))
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("link", name="Sign in").first.wait_for()
    assert page.evaluate(kept) == 0


@with_script
def test_what_was_typed_is_there_after_the_page_was_lost(at_the_log, live_server):
    page = at_the_log
    page.get_by_text("Something hurts").click()
    page.get_by_role("checkbox", name="knee").check()
    state(page, "Kept on this phone")
    where = page.url
    page.goto(live_server.url + "/")
    page.goto(where)
    state(page, "What you typed before")
    assert page.get_by_label("Full rounds").input_value() == "2"
    assert page.get_by_role("checkbox", name="knee").is_checked()
    press(page)
    page.wait_for_url("**/results/*/")
    assert Fact.objects.get().mark == "2+9" and Pain.objects.get().areas == ["knee"]


@with_script
def test_closed_and_opened_again_a_waiting_result_goes_out(at_the_log, live_server):
    page = at_the_log
    where = page.url
    page.context.set_offline(True)
    press(page)
    state(page, "Not sent yet")
    # The page is left while the network is still bad for sending.
    page.route("**/log/", lambda r: r.abort() if r.request.method == "POST" else r.continue_())
    page.context.set_offline(False)
    page.goto(live_server.url + "/")
    page.get_by_role("link", name="Send it").wait_for()
    page.unroute("**/log/")
    page.goto(where)
    page.wait_for_url("**/results/*/")
    assert Fact.objects.get().mark == "2+9"


@with_script
def test_what_is_refused_is_told_as_ever_and_stays_typed(at_the_log):
    page = at_the_log
    page.get_by_label("Reps done in that set").fill("99")
    press(page)
    page.get_by_role("alert").wait_for()
    assert page.get_by_label("Reps done in that set").input_value() == "99"
    assert not Fact.objects.exists()
    page.get_by_label("Reps done in that set").fill("5")
    press(page)
    page.wait_for_url("**/results/*/")
    assert Fact.objects.get().mark == "2+9"
