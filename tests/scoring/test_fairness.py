"""What options have been worth: the coaches' page and API, and the changes it leads to."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from members.models import CoachRight
from scoring.core.estimation.ways import Way
from scoring.models import CreditChange, Score
from scoring.selectors.fairness import fairness
from scoring.services.credit_changes import EntryInput, accept, go_on, propose, seen_of

from ..conftest import NOW
from .classes import log, make_class
from .credit_scenes import BOARD_SAYS, MIXED, ROCKS, boards, done
from .estimated import keep, learned

TUCK = Way("hollow rock", "tuck rock")
AIR = Way("goblet squat", "air squat")

pytestmark = pytest.mark.django_db


def signed_in(member):
    client = Client()
    client.force_login(member.user, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def rocks(people):
    found = make_class(people, ROCKS)
    log(found, people.ana, "9+0")
    log(found, people.ben, "10+0", "tuck rock")
    return found


def clear(people, worth=0.7, results=48):
    """The board's 0.8 is clearly beside 0.70."""
    return keep(people.gym, learned(people.gym, [(TUCK, worth, 0.04, results)]))


def rows(people, viewer=None):
    found = fairness(viewer=viewer or people.coach)
    return {row.label: row for movement in found.movements for row in movement.rows}


def post(client, *taken, entries=(("hollow rock", "tuck rock", "0.7"),), **fields):
    sent = {"rows": len(entries), "scope": "all", "reason": "results say so", **fields}
    for number, (movement, option, credit) in enumerate(entries):
        sent |= {
            f"movement-{number}": movement,
            f"option-{number}": option,
            f"credit-{number}": credit,
        }
    return client.post(reverse("fairness"), sent | {f"take-{n}": "on" for n in taken})


def test_without_results_worked_out_the_page_says_so(people, rocks):
    assert fairness(viewer=people.coach).made_at is None
    page = signed_in(people.coach).get(reverse("fairness"))
    assert "No results have been worked out yet" in page.text


def test_only_coaches_see_it(people, rocks):
    clear(people)
    assert fairness(viewer=people.ana) is None and fairness(viewer=None) is None
    assert fairness(viewer=people.foreign_coach).movements == ()


def test_a_clear_figure_is_shown_with_the_change_it_suggests(people, rocks):
    clear(people)
    row = rows(people)["tuck rock"]
    assert row.suggested == "0.7" and row.worth.results == 48 and row.movement == "hollow rock"
    # 0.70 × exp(∓1.2816 × 0.04) = 0.665 and 0.737
    assert row.words == (
        "Tuck rock has been worth 0.70 of a hollow rock (between 0.66 and 0.74), from 48 results; "
        "the usual figure is 0.80."
    )


def test_the_page_says_from_how_many_results_and_until_when(people, rocks):
    clear(people)
    page = signed_in(people.coach).get(reverse("fairness")).text
    assert "From 312 results until 24 Nov 2026" in " ".join(page.split())
    assert "may be slow at exactly that movement" in page
    assert "0.80 → 0.7" in page and "Suggested changes: 1" in page


def test_what_nobody_used_is_counted_and_not_listed(people):
    make_class(people, MIXED)
    clear(people)
    found = fairness(viewer=people.coach)
    assert [m.name for m in found.movements] == ["hollow rock"] and found.unused == 1


def test_few_results_and_unclear_ones_suggest_nothing(people, rocks):
    clear(people, results=14)
    row = rows(people)["tuck rock"]
    assert row.suggested is None and row.words.startswith("The coach's credit speaks louder")
    clear(people, worth=0.77)
    assert rows(people)["tuck rock"].suggested is None


def test_a_credit_that_every_workout_writes_is_told_to_be_changed_there(people):
    make_class(people, BOARD_SAYS)
    clear(people)
    row = rows(people)["tuck rock"]
    assert row.suggested is None and row.worth.is_clear
    assert row.is_finding and "results speak for 0.70" in row.verdict
    assert row.remark == "Workouts write 0.8 in 1 class." and "workouts say 0.80" in row.words


def test_a_credit_written_in_workouts_is_a_finding_with_links_to_where_it_is_written(people):
    given = make_class(people, BOARD_SAYS)
    draft = make_class(people, BOARD_SAYS, is_open=False)
    clear(people)
    (written,) = rows(people)["tuck rock"].off_board
    assert (written.credit, written.classes, written.suggested) == ("0.8", 1, "0.7")
    assert [(p.class_id, p.is_draft) for p in written.places] == [
        (draft.pk, True), (given.pk, False),
    ]  # fmt: skip
    page = " ".join(signed_in(people.coach).get(reverse("fairness")).text.split())
    assert "Suggested changes: 0" in page and "no credit is clearly beside" not in page
    assert "Credited elsewhere than in the table: 1" in page
    assert "Written as 0.8 in 1 class: results speak for 0.7." in page
    assert f'href="{reverse("class-edit", args=[draft.pk])}"' in page
    assert f'href="{reverse("class-manage", args=[given.pk])}"' in page


def test_a_table_that_is_right_hides_no_written_credit_that_is_not(people, rocks):
    make_class(people, BOARD_SAYS.replace("0.8", "0.5"))
    clear(people, worth=0.8)
    row = rows(people)["tuck rock"]
    assert row.suggested is None and [w.suggested for w in row.off_board] == ["0.8"]
    assert row.words.endswith("the usual figure is 0.80, workouts write 0.50.")
    assert row.remark == (
        "The table's credit counts in 1 class, workouts write 0.5 in 1 class. Results clearly "
        "speak for 0.8 in place of 0.5 there."
    )
    page = signed_in(people.coach).get(reverse("fairness")).text
    assert "Written as 0.5 in 1 class: results speak for 0.8." in " ".join(page.split())
    (told,) = signed_in(people.coach).get(reverse("api-fairness")).json()["options"]
    assert told["written"] == [{"credit": "0.5", "classes": 1, "suggestion": "0.8"}]
    assert (told["by_table"], told["verdict"]) == (1, "No clear difference.")


def test_of_several_written_credits_the_one_that_is_furthest_off_is_drawn(people):
    make_class(people, BOARD_SAYS)
    make_class(people, BOARD_SAYS.replace("0.8", "0.5"))
    clear(people, worth=0.78)
    row = rows(people)["tuck rock"]
    assert row.worth.credit == 0.5 and row.words.endswith("workouts say 0.50, 0.80.")


def test_a_small_difference_that_is_clear_is_called_so(people, rocks):
    keep(people.gym, learned(people.gym, [(TUCK, 0.77, 0.005, 480)]))
    row = rows(people)["tuck rock"]
    assert row.suggested is None and not row.is_finding
    assert row.verdict == "Clearly different, but too little to change."
    assert "too little to change" in signed_in(people.coach).get(reverse("fairness")).text


LIGHT = Way("goblet squat", "", "12")


def loads(people):
    """Two classes with 16 kg and one with 12 kg, as prescribed."""
    heavy = make_class(people, MIXED)
    make_class(people, MIXED.replace("Mixed", "Mixed again").replace("10:00", "11:00"))
    make_class(people, "Light\namrap 9:00\n5 goblet squat @ 12 kg\n")
    keep(people.gym, learned(people.gym, [(LIGHT, 0.6, 0.03, 60)]))
    return heavy


def test_a_load_that_is_only_done_as_prescribed_has_no_credit_to_look_at(people):
    loads(people)
    found = fairness(viewer=people.coach)
    assert (found.movements, found.prescribed) == ((), 1)
    page = " ".join(signed_in(people.coach).get(reverse("fairness")).text.split())
    assert "1 load is not listed: only done as prescribed" in page and "@ 12 kg" not in page


def test_a_load_that_somebody_took_in_place_of_another_is_credited_by_the_load_rule(people):
    log(loads(people), people.ana, "1+0", "goblet squat @ 12 kg")
    row = rows(people)["goblet squat @ 12 kg"]
    assert row.suggested is None and row.option == "" and "The load rule credits it" in row.remark
    assert "no board offers" not in row.remark
    assert row.is_finding and "the load rule says" in row.words


def test_the_reason_given_for_a_change_counts_the_options_own_results(people, rocks):
    clear(people)
    page = signed_in(people.coach).get(reverse("fairness")).text
    assert 'value="What it has been worth in 48 results until 24 Nov 2026"' in page


def test_once_accepted_the_newest_credit_stands_beside_it_and_nothing_is_suggested(people, rocks):
    clear(people)
    done(people, propose(
        gym=people.gym, by=people.coach, entries=[EntryInput("hollow rock", "tuck rock", "0.7")],
        reason="results say so", scope="all", now=NOW,
    ))  # fmt: skip
    row = rows(people)["tuck rock"]
    assert row.worth.credit == 0.7 and row.suggested is None
    assert "the table says 0.70" in row.words


def test_ticked_changes_go_to_the_preview_and_from_there_to_the_boards_and_back(people, rocks):
    clear(people)
    before = boards()
    answer = post(signed_in(people.coach), 0)
    change = CreditChange.objects.get()
    assert answer.status_code == 302
    assert answer.url == reverse("credit-change", args=[change.pk])
    assert change.entries == [{"movement": "hollow rock", "option": "tuck rock", "credit": "0.7"}]
    assert change.reason == "results say so" and boards() == before
    go_on(change_id=change.pk, now=NOW)
    change.refresh_from_db()
    accept(change=change, by=people.coach, seen=seen_of(change), now=NOW)
    go_on(change_id=change.pk, now=NOW)
    assert Score.objects.get(result__member=people.ben).credited == "70"
    from scoring.services.credit_changes import propose_undo

    change.refresh_from_db()
    done(people, propose_undo(change=change, by=people.coach, reason="no", now=NOW))
    assert boards() == before


def test_only_what_is_ticked_is_asked_for(people, rocks):
    clear(people)
    entries = [("hollow rock", "tuck rock", "0.7"), ("goblet squat", "air squat", "0.6")]
    post(signed_in(people.coach), 1, entries=entries)
    assert [e["option"] for e in CreditChange.objects.get().entries] == ["air squat"]


def test_nothing_ticked_and_no_reason_are_said_on_the_page(people, rocks):
    clear(people)
    client = signed_in(people.coach)
    answer = post(client)
    assert answer.status_code == 422 and "No change is ticked." in answer.text
    answer = post(client, 0, reason="")
    assert answer.status_code == 422 and "Say why the credits change." in answer.text
    answer = post(client, 0, scope="some")
    assert answer.status_code == 422 and "Say which classes it is for." in answer.text
    assert not CreditChange.objects.exists()


def test_a_coach_without_the_right_sees_it_and_can_ask_for_nothing(people, rocks):
    clear(people)
    people.coach.withheld = [CoachRight.CREDITS]
    people.coach.save()
    client = signed_in(people.coach)
    page = client.get(reverse("fairness")).text
    assert "0.80 → 0.7" in page and "Look at these changes" not in page
    assert post(client, 0).status_code == 422 and not CreditChange.objects.exists()


def test_a_name_is_found_and_suggestions_stay_where_they_are(people, rocks):
    clear(people)
    client = signed_in(people.coach)
    assert "has “xyz” in its name" in client.get(reverse("fairness"), {"q": "xyz"}).text
    page = client.get(reverse("fairness"), {"q": "TUCK"}).text
    assert "Suggested changes: 1" in page and "hollow rock</caption>" in page


def test_the_api_tells_the_same_and_its_suggestion_is_an_entry_of_a_change(people, rocks):
    clear(people)
    client = signed_in(people.coach)
    told = client.get(reverse("api-fairness")).json()
    assert told["results"] == 312 and told["until"].startswith("2026-11-24")
    (row,) = told["options"]
    assert (row["movement"], row["option"], row["suggestion"]) == (
        "hollow rock", "tuck rock", "0.7",
    )  # fmt: skip
    assert (row["credit"], row["worth"], row["against"]) == ("0.80", "0.700", "hollow rock")
    entry = {"movement": row["movement"], "option": row["option"], "credit": row["suggestion"]}
    answer = client.post(
        reverse("api-credit-changes"),
        {"entries": [entry], "reason": "results say so", "scope": "all"},
        content_type="application/json",
    )
    assert answer.status_code == 201 and answer.json()["steps"][0]["new"] == "0.7"


def test_the_api_says_when_nothing_has_been_worked_out(people, rocks):
    told = signed_in(people.coach).get(reverse("api-fairness")).json()
    assert told["made_at"] is None and told["options"] == []
    assert signed_in(people.ana).get(reverse("api-fairness")).status_code == 403


def test_a_snapshot_of_later_is_what_is_shown(people, rocks):
    clear(people)
    keep(people.gym, learned(people.gym, [(TUCK, 0.9, 0.02, 90)]), until=NOW + timedelta(days=7))
    assert rows(people)["tuck rock"].suggested == "0.9"


def test_it_is_linked_from_the_credits_and_from_a_coachs_start(people, rocks):
    client = signed_in(people.coach)
    for name in ("credits", "home"):
        assert f'href="{reverse("fairness")}"' in client.get(reverse(name)).text
