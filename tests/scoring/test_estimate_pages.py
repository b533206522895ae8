"""The coach's page of what results have taught."""

import pytest
from django.test import Client
from django.urls import reverse

from scoring.models import EstimateRun
from scoring.selectors.taught import Effect, in_words

from ..conftest import NOW
from .classes import make_class
from .test_estimating import held_class, made

pytestmark = pytest.mark.django_db


def page(member, query=""):
    client = Client()
    client.force_login(member.user)
    return client.get(f"/coach/taught/{query}")


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_a_gym_without_results_is_told_that_these_are_the_catalogues_figures(people):
    make_class(people)
    told = text_of(page(people.coach))
    assert "No result has told anything yet" in told
    assert "Hollow rock" in told and "tuck rock" in told
    assert "What a class had in common" not in told


def test_it_says_from_how_many_until_when_and_whether_it_came_to_rest(people):
    for number in range(3):
        held_class(people, number)
    made(people.gym)
    told = text_of(page(people.coach))
    assert "Learned from 9 results of 3 members in 3 classes" in told
    assert "until 21 Sep 2026" in told and "24 Nov 2026" in told
    assert "The figures came to rest after" in told
    assert told.count("<td>may be chance</td>") + told.count("<td>yes</td>") == 3
    assert '<th scope="row">tuck rock</th>' in told and "(few)" in told


def test_one_finds_a_movement_by_its_option(people):
    make_class(people)
    told = text_of(page(people.coach, "?q=tuck"))
    assert "Hollow rock" in told and "Goblet squat" not in told
    assert "has “zebra” in its name" in text_of(page(people.coach, "?q=zebra"))


def test_its_button_asks_and_the_page_says_how_far_it_is(people):
    held_class(people, 1)
    made(people.gym)
    client = Client()
    client.force_login(people.coach.user)
    told = text_of(client.post("/coach/taught/", follow=True))
    assert "Asked for." in told and "Waiting to begin" in told and "Look again" in told
    [run] = EstimateRun.objects.filter(finished_at=None)
    assert run.by == people.coach
    made(people.gym)
    told = text_of(client.get("/coach/taught/"))
    assert "Nothing was new since the last time." in told and "Look again" not in told


def test_members_do_not_see_it(people):
    assert page(people.ana).status_code in (403, 404)


def test_it_is_linked_where_credits_and_classes_are_looked_at(people):
    client = Client()
    client.force_login(people.coach.user)
    for path in ("/coach/credits/", "/coach/compare/"):
        assert 'href="/coach/taught/"' in client.get(path).content.decode()


@pytest.mark.parametrize("state", EstimateRun.State.values)
def test_every_state_has_words(state):
    assert in_words(EstimateRun(state=state, asked_at=NOW)).told


@pytest.mark.parametrize(
    ("times", "low", "high", "told", "between", "is_clear"),
    [
        (1.09, 1.06, 1.11, "9 % longer", "6 to 11 %", True),
        (0.97, 0.95, 1.0, "3 % shorter", "\N{MINUS SIGN}5 to 0 %", False),
        (1.001, 0.98, 1.02, "as long", "\N{MINUS SIGN}2 to 2 %", False),
    ],
)
def test_what_a_class_had_in_common_is_told_in_per_cent(times, low, high, told, between, is_clear):
    effect = Effect(None, times, low, high)
    assert effect.told.replace("\N{NO-BREAK SPACE}", " ") == told
    assert effect.range.replace("\N{NO-BREAK SPACE}", " ") == between
    assert effect.is_clear is is_clear


def test_what_was_learned_is_led_to_from_the_desk_the_plan_and_the_review(people, client):
    streamed = make_class(people)
    client.force_login(people.coach.user)
    pages = [reverse("home"), reverse("plan-week"), reverse("class-review", args=[streamed.pk])]
    for page in pages:
        shown = client.get(page).text
        for name in ("estimates", "fairness", "forecast-record"):
            assert f'href="{reverse(name)}"' in shown, (page, name)
