"""The coach's page of what results have taught."""

import pytest
from django.test import Client
from django.urls import reverse

from scoring.core.estimation.class_words import ClassEffect
from scoring.models import EstimateRun
from scoring.selectors.estimates import held as held_of
from scoring.selectors.taught import Effect, effects, in_words

from ..conftest import NOW
from .classes import make_class
from .past_classes import held_class, made

MINUS = "\N{MINUS SIGN}"
ONCE = "Clear, but given only once: the day, or the workout"

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
    assert "The figures are settled" in told and "came to rest" not in told
    assert told.count("May be chance") == 3
    assert '<th scope="row">tuck rock<span class="soft">' in told and "results (few)" in told
    assert "going at the pace one keeps up for ten minutes" in told
    assert "Before any result" in told and "Held before" not in told


def test_a_load_is_named_as_prescribed_in_so_many_classes(people):
    for number in range(3):
        held_class(people, number)
    made(people.gym)
    told = text_of(page(people.coach, "?q=goblet"))
    assert '<th scope="row">@ 20 kg<span class="soft">as prescribed in 3 classes; ' in told
    assert "with 20 kg" not in told


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
    ("percent", "low", "high", "told", "between", "verdict"),
    [
        (8.9, 6.2, 11.4, "9 % longer", "6 to 11 %", ONCE),
        # None at all is out of the range, but not as it is shown.
        (-3.2, -5.4, -0.4, "3 % shorter", f"{MINUS}5 to 0 %", "May be chance"),
        (0.1, -2, 2, "as long", f"{MINUS}2 to 2 %", "May be chance"),
    ],
)
def test_what_a_class_had_in_common_is_told_in_per_cent(percent, low, high, told, between, verdict):
    effect = Effect(None, ClassEffect(percent, low, high, 20))
    assert effect.told.replace("\N{NO-BREAK SPACE}", " ") == told
    assert effect.range.replace("\N{NO-BREAK SPACE}", " ") == between
    assert effect.verdict == verdict


def test_what_other_runs_of_a_workout_show_too_is_never_called_the_day(people):
    first, second, third = [held_class(people, number) for number in range(3)]
    made(people.gym)
    held = held_of(gym_id=people.gym.pk)
    classes = [first, second, third]
    held.estimate.effect[:] = 0.12
    held.estimate.effect_variance[:] = 0.01**2
    alike = list(effects(held, classes))
    assert {each.verdict for each in alike} == {"The workout: its other runs show the same"}
    assert [each.times.count for each in alike] == [2, 2, 2]
    held.estimate.effect[:] = 0.0
    held.estimate.effect[held.class_at(second.pk)] = 0.12
    day = {each.streamed_class.pk: each.verdict for each in effects(held, classes)}
    assert day[second.pk] == "The day: its other runs went otherwise"


def test_what_was_learned_is_led_to_from_the_desk_the_plan_and_the_review(people, client):
    streamed = make_class(people)
    client.force_login(people.coach.user)
    pages = [reverse("home"), reverse("plan-week"), reverse("class-review", args=[streamed.pk])]
    for page in pages:
        shown = client.get(page).text
        for name in ("estimates", "fairness", "forecast-record"):
            assert f'href="{reverse(name)}"' in shown, (page, name)
