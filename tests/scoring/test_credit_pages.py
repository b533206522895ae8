"""The pages of credits: what they tell, and changing them from what is typed."""

import pytest
from django.test import Client
from django.urls import reverse

from members.models import CoachRight, ShownAs
from scoring.models import CreditChange, CreditTableVersion, Score
from scoring.selectors.credit_changes import progress_of
from scoring.selectors.credits import sheet

from ..conftest import NOW, add_member
from .classes import log, make_class
from .credit_scenes import BOARD_SAYS, ROCKS, ask, boards, done, shown

GOBLETS = """Goblets
amrap 10:00
10 goblet squat @ 20 kg
  or air squat
"""


@pytest.fixture
def web(people):
    client = Client()
    client.force_login(people.coach.user)
    return client


@pytest.fixture
def rocks(people):
    found = make_class(people, ROCKS)
    log(found, people.ana, "9+0")
    log(found, people.ben, "10+0", "tuck rock")
    return found


def rows_of(people, query=""):
    found = sheet(viewer=people.coach, query=query)
    return {(r.movement, r.option): r for m in found.movements for r in m.options}


def typed(**kwargs):
    return {
        "rows": "1",
        "movement-0": "hollow rock",
        "option-0": "tuck rock",
        "credit-0": "0.95",
        "scope": "all",
        "reason": "tuck rocks are hard",
        **{name.replace("_", "-"): value for name, value in kwargs.items()},
    }


def test_an_option_tells_its_credit_where_that_is_from_and_how_it_was_used(people, rocks):
    make_class(people, BOARD_SAYS)
    log(rocks, people.cleo, "5+0", "tuck rock: 10")
    row = rows_of(people)["hollow rock", "tuck rock"]
    assert (row.credit, row.source) == ("0.8", "usual figure: nobody has set one")
    assert (row.used, row.last, row.on_board, row.is_idle) == (2, NOW, [("0.8", 1)], False)


def test_an_option_that_every_board_credits_itself_is_told_to_be_none_of_the_tables(people, web):
    make_class(people, BOARD_SAYS)
    assert rows_of(people)["hollow rock", "tuck rock"].is_idle
    assert b"the table has no say" in web.get(reverse("credits")).content


def test_own_loads_are_one_row_by_the_load_rule(people):
    streamed = make_class(people, GOBLETS)
    log(streamed, people.ana, "5+0", "goblet squat @ 12 kg")
    log(streamed, people.ben, "5+0", "goblet squat @ 8 kg")
    rows = rows_of(people)
    assert rows["goblet squat", "another load"].used == 2
    assert rows["goblet squat", "another load"].credit is None
    assert rows["goblet squat", "air squat"].used == 0


def test_a_withdrawn_result_used_nothing(people, rocks):
    from scoring.services.correcting import withdraw_result

    result = Score.objects.get(result__member=people.ben).result
    withdraw_result(result=result, by=people.coach, reason="not him", now=NOW)
    assert rows_of(people)["hollow rock", "tuck rock"].used == 0


def test_a_search_keeps_movements_by_their_own_or_an_options_name(people, rocks):
    make_class(people, GOBLETS)
    assert set(rows_of(people, "TUCK")) == {("hollow rock", "tuck rock")}
    assert set(rows_of(people, "goblet")) == {("goblet squat", "air squat")}
    assert rows_of(people, "rope") == {}


def test_an_option_tells_its_whole_history(people, rocks, web):
    done(people, ask(people, ("hollow rock", "tuck rock", "0.9")))
    done(people, ask(people, ("hollow rock", "tuck rock", None), reason="as it was"))
    history = rows_of(people)["hollow rock", "tuck rock"].history
    assert [(v.number, v.by, v.reason, s.old, s.new) for v, s in history] == [
        (3, "Carl Coach", "as it was", "0.9", ""),
        (2, "Carl Coach", "tuck rocks are hard", "", "0.9"),
    ]
    page = web.get(reverse("credits-history")).content.decode()
    assert "as it was" in page and "0.9 → not set, so 0.8" in page


def test_the_form_leads_to_what_it_would_change(people, rocks, web):
    answer = web.post(reverse("credits"), typed())
    change = CreditChange.objects.get()
    address = reverse("credit-change", args=[change.pk])
    assert (answer.status_code, answer.url) == (302, address)


@pytest.mark.django_db(transaction=True)
def test_the_whole_way_from_the_form_to_the_boards_and_back():
    from ..conftest import make_people

    people = make_people()
    streamed = make_class(people, ROCKS)
    log(streamed, people.ana, "9+0")
    log(streamed, people.ben, "10+0", "tuck rock")
    before, web = boards(), Client()
    web.force_login(people.coach.user)
    page = web.post(reverse("credits"), typed(), follow=True)
    assert b"would move" in page.content and page.context["progress"].scores_moved == 1
    address = page.redirect_chain[-1][0]
    detail = web.get(f"{address}classes/{streamed.pk}/").content.decode()
    assert "2 → 1" in detail and "Ben Okoro" in detail
    assert boards() == before
    page = web.post(address, {"act": "accept", "seen": page.context["seen"]}, follow=True)
    assert page.context["is_done"] and boards() != before
    assert "2 → 1" in web.get(f"{address}classes/{streamed.pk}/").content.decode()
    page = web.post(address, {"act": "undo", "reason": "it was right"}, follow=True)
    undo = page.redirect_chain[-1][0]
    page = web.post(undo, {"act": "accept", "seen": page.context["seen"]}, follow=True)
    assert page.context["is_done"] and boards() == before
    assert "It was undone by version 3" in web.get(address).content.decode()


def test_what_cannot_be_taken_stands_beside_its_field_with_what_was_typed(people, rocks, web):
    answer = web.post(reverse("credits"), typed(credit_0="3", reason="", movement_new="push-up"))
    page = answer.content.decode()
    assert answer.status_code == 422 and 'value="3"' in page
    assert "Name the movement, the option and its credit" in page
    answer = web.post(reverse("credits"), typed(credit_0="3"))
    assert "more than 0 and at most 2" in answer.content.decode()
    answer = web.post(reverse("credits"), typed(reason=" "))
    assert answer.status_code == 422 and "Say why the credits change" in answer.content.decode()
    assert not CreditChange.objects.exists()


def test_an_option_not_listed_can_be_added_and_one_taken_out(people, rocks, web):
    new = {"movement_new": "push-ups", "option_new": "knee push-up", "credit_new": "0,7"}
    web.post(reverse("credits"), typed(credit_0="", **new))
    change = CreditChange.objects.get()
    assert change.entries == [{"movement": "push-up", "option": "knee push-up", "credit": "0.7"}]
    done(people, ask(people))
    web.post(reverse("credits"), typed(credit_0="", out_0="on", reason="no"))
    assert CreditChange.objects.first().entries == [
        {"movement": "hollow rock", "option": "tuck rock", "credit": None}
    ]


def test_an_untrue_preview_answers_with_the_new_figures(people, rocks, web):
    change = shown(ask(people))
    log(rocks, people.cleo, "10+0", "tuck rock")
    address = reverse("credit-change", args=[change.pk])
    assert web.get(address).context["is_stale"]
    answer = web.post(address, {"act": "accept", "seen": "old"})
    assert answer.status_code == 422 and answer.context["progress"].scores_moved == 2
    assert CreditTableVersion.objects.count() == 1


def test_the_progress_tells_the_page_to_load_again_once_it_is_through(people, rocks, web):
    change = ask(people)
    address = reverse("credit-change-progress", args=[change.pk])
    assert b"0 of 1 classes" in web.get(address).content
    shown(change)
    assert web.get(address)["HX-Refresh"] == "true"


def test_members_read_why_their_result_moved(people, rocks):
    done(people, ask(people))
    for member, said in (
        (people.ben, "this result was 8 rounds + 0; it is 9 rounds + 5 now"),
        (people.ana, "counts as it did before"),
    ):
        client = Client()
        client.force_login(member.user)
        result = Score.objects.get(result__member=member).result
        page = " ".join(client.get(reverse("result", args=[result.pk])).content.decode().split())
        assert "“tuck rocks are hard”" in page and said in page


def test_a_coach_without_the_right_reads_but_is_offered_no_change(people, rocks, web):
    people.coach.withheld = [CoachRight.CREDITS]
    people.coach.save()
    page = web.get(reverse("credits")).content.decode()
    assert "tuck rock" in page and "Show who would move" not in page
    assert web.post(reverse("credits"), typed()).status_code == 422
    change = shown(ask(people, by=people.owner))
    address = reverse("credit-change", args=[change.pk])
    assert 'value="accept"' not in web.get(address).content.decode()
    assert web.post(address, {"act": "accept", "seen": "x"}).status_code == 422


def test_who_moves_is_told_by_name_to_coaches_even_of_members_without_one(people, rocks, web):
    people.ben.shown_as = ShownAs.UNNAMED
    people.ben.save()
    change = shown(ask(people))
    page = web.get(reverse("credit-change-class", args=[change.pk, rocks.pk])).content.decode()
    assert "Ben Okoro" in page


# --- a big gym ------------------------------------------------------------------


@pytest.fixture
def big(people):
    """Two classes of forty with options of their own each, and six that are small."""
    members = [add_member(people.gym, f"M {n}") for n in range(40)]
    for size in (40, 40, 1, 1, 1, 1, 1, 1):
        streamed = make_class(people, ROCKS)
        for number, member in enumerate(members[:size]):
            log(streamed, member, "9+0", f"tuck rock: {number + 1}")
    return people


def test_the_pages_of_a_big_gym_ask_the_database_a_bounded_number_of_times(
    big, web, django_assert_max_num_queries
):
    change = shown(ask(big))
    with django_assert_max_num_queries(12):
        assert web.get(reverse("credits")).status_code == 200
    with django_assert_max_num_queries(20):
        web.get(reverse("credit-change", args=[change.pk]))
    first = change.classes.order_by("-results").first()
    with django_assert_max_num_queries(14):
        web.get(reverse("credit-change-class", args=[change.pk, first.streamed_class_id]))
    assert progress_of(change).scores_moved == 86


def test_looking_at_a_class_is_a_few_queries_however_many_were_in_it(
    big, django_assert_max_num_queries
):
    from scoring.services.credit_changes import go_on

    change = ask(big)
    with django_assert_max_num_queries(8 * 7 + 8):
        go_on(change_id=change.pk, now=NOW)
