"""A coach reads a review on a phone and at a desk, by keyboard, in both schemes, and prints it."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from scoring.services.classes import close_class
from scoring.services.pains import tell_pain

from ..conftest import FOR_TIME, NOW, make_people
from ..scoring.classes import log, make_class
from ..scoring.crowds import crowd, many_members
from .steps import too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
both_sizes = pytest.mark.parametrize("width", [390, 1280])


@pytest.fixture
def people(transactional_db):
    return make_people()


def reviewed(people, count=60):
    """A class held twice, the second time with somebody who hurts."""
    members = many_members(people.gym, count)
    first, second = make_class(people, FOR_TIME), make_class(people, FOR_TIME)
    first.starts_at = first.starts_at.replace(day=17)
    first.save()
    crowd(first, members, seed=1)
    crowd(second, members, seed=2)
    log(second, people.ana, "2 reps", effort=9)
    tell_pain(streamed_class=second, member=people.ana, areas=["knee"], words="sore", now=NOW)
    return close_class(streamed_class=second, by=people.coach, now=NOW)


@both_sizes
def test_a_claim_leads_to_its_figures_and_a_member_to_their_result(look, people, width):
    streamed = reviewed(people)
    page = look(people.coach, width=width)
    faults = watch_console(page)
    page.goto(reverse("class-review", args=[streamed.pk]))
    assert not too_wide(page)
    page.get_by_role("link", name="did it on 17 Nov 2026 too").click()
    assert page.evaluate("location.hash") == "#last-time"
    assert page.get_by_role("heading", name="Against the last time").is_visible()
    # By keyboard everybody is reached in the list, which opens with Enter.
    opener = page.locator("summary", has_text="All 61 results")
    opener.focus()
    page.keyboard.press("Enter")
    for _ in range(2):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/results/*/")
    assert faults == []


@both_sizes
def test_a_dot_is_a_way_to_its_result_and_no_tab_stop(look, people, width):
    streamed = reviewed(people)
    page = look(people.coach, width=width)
    page.goto(reverse("class-review", args=[streamed.pk]))
    reached = page.evaluate(
        "[...document.querySelectorAll('.crowd a')].filter((a) => a.tabIndex >= 0).length"
    )
    assert reached == 0
    dot = page.locator(".crowd a").first
    assert "Ana Sol: block 1" in dot.locator("title").text_content()
    dot.click()
    page.wait_for_url("**/results/*/")


@both_sizes
def test_axe_finds_nothing_on_reviews(look, people, width):
    streamed = reviewed(people, count=24)
    empty, draft = make_class(people), make_class(people, is_open=False)
    page, found, axe = look(people.coach, width=width), {}, Axe()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for one in (streamed, empty, draft):
            page.goto(reverse("class-review", args=[one.pk]))
            page.evaluate(
                "() => document.querySelectorAll('details').forEach((d) => { d.open = true })"
            )
            assert not too_wide(page)
            violations = axe.run(page).response["violations"]
            if violations:
                found[scheme, one.pk] = [(v["id"], v["nodes"][0]["html"][:90]) for v in violations]
    assert found == {}


def test_on_paper_it_fits_a4_and_names_nobody_who_hurts(look, people):
    streamed = reviewed(people)
    # A4 is 210 mm wide: less twice 14 mm of margin that is 688 px at 96 to the inch.
    page = look(people.coach, width=688)
    page.goto(reverse("class-review", args=[streamed.pk]))
    page.emulate_media(media="print")
    assert not too_wide(page)
    boxes = page.evaluate(
        "[...document.querySelectorAll('main table, main svg')]"
        ".filter((e) => e.getClientRects().length && e.getBoundingClientRect().right > 689).length"
    )
    assert boxes == 0
    words = page.evaluate("document.querySelector('main').innerText")
    assert "sore" not in words and "1 told" in words
    pages = page.pdf(format="A4").count(b"/Type /Page\n")
    assert 1 <= pages <= 4
