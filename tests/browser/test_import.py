"""A coach brings a chat in, on a phone and on a desk, with a script and without."""

import pytest
from django.urls import reverse

from scoring.models import ImportRun, Result
from scoring.services.import_mending import accept_all

from ..conftest import add_member, make_people
from ..scoring.classes import log, make_class
from ..scoring.test_importing import begin, bring_in
from .steps import axe_faults, too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
CHAT = "Well done all 🔥\nAna: 2+9 tuck\n18:42 ben 3 rounds 4\nCleo 2+30\nDora Lind 1+3\nKim 12"


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("javascript", [True, False], ids=["js", "no js"])
def test_a_chat_is_pasted_mended_brought_in_and_taken_back(look, width, javascript):
    people = make_people()
    add_member(people.gym, "Ben Adler")
    add_member(people.gym, "Kim Dahl")
    streamed = make_class(people)
    page = look(people.coach, width=width, javascript=javascript)
    faults = watch_console(page)
    page.goto(reverse("class-import", args=[streamed.pk]))
    page.get_by_label("The chat, or a list").fill(CHAT)
    page.get_by_role("button", name="Read the lines").click()
    page.get_by_role("heading", name="Its lines").wait_for()
    assert not too_wide(page)

    page.get_by_text("Mend it: line 4").click()
    page.locator("#text-4").fill("Cleo 3+6")
    page.locator("#line-4").get_by_role("button", name="Read it again").click()
    page.locator("#line-4").wait_for(state="detached")
    page.get_by_text("Mend it: line 5").click()
    page.get_by_role("button", name="Add as a new member").click()
    page.get_by_role("link", name="To confirm: 2").wait_for()
    page.goto(f"{reverse('import-page', args=[ImportRun.objects.get().pk])}?show=doubtful")
    page.locator("#line-3").get_by_role("button", name="Ben Okoro").click()
    page.locator("#line-6").get_by_role("button", name="12 reps").click()
    page.get_by_role("button", name="Bring in 5 results").click()
    page.get_by_text("Everything that could come in is in").wait_for()
    assert sorted(Result.objects.values_list("member__display_name", flat=True)) == [
        "Ana Sol", "Ben Okoro", "Cleo Wren", "Dora Lind", "Kim Dahl",
    ]  # fmt: skip
    page.get_by_text("Take it all back").click()
    page.get_by_role("button", name="Take back 5 results").click()
    page.get_by_text("was taken back").wait_for()
    assert not streamed.scores.exists() and not too_wide(page)
    assert faults == []


def test_axe_finds_nothing_on_the_pages_of_an_import(look):
    people = make_people()
    streamed = make_class(people)
    log(streamed, people.ben, "1+1")
    run = begin(streamed, people, CHAT)
    accept_all(run=run, by=people.coach)
    bring_in(run, people)
    sheet = begin(streamed, people, "name,mark,effort\nZed,2+9,\nAnna,2+9,12\n", "sheet")
    addresses = [reverse("class-import", args=[streamed.pk])]
    addresses += [f"{reverse('import-page', args=[r.pk])}?show=all" for r in (run, sheet)]
    ImportRun.objects.create(
        gym=people.gym, streamed_class=streamed, by=people.coach, kind="chat", state="saving"
    )
    addresses.append(reverse("import-page", args=[ImportRun.objects.latest("pk").pk]))
    page = look(people.coach)
    assert axe_faults(page, addresses) == {}
