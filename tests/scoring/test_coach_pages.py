"""The coach's pages without JavaScript: write, open, log for somebody, correct, close."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from scoring.models import Fact, State, StreamedClass
from scoring.services.classes import close_class

from ..conftest import NOW, TWO_LADDERS
from .classes import log, make_class
from .test_pages import sign_in, text_of  # noqa: F401 - a fixture


def test_a_coach_writes_a_class_and_runs_it(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    new = reverse("class-new")
    sent = {"text": TWO_LADDERS, "starts_at": "2026-12-01T18:30", "note": "bring a mat"}
    seen = text_of(client.post(new, {**sent, "preview": "1"}))
    assert "goblet squat 36" in seen and StreamedClass.objects.count() == 0
    answer = client.post(new, sent)
    streamed = StreamedClass.objects.get()
    assert answer.url == reverse("class-manage", args=[streamed.pk])
    manage = answer.url
    client.post(manage, {"act": "open"})
    streamed.refresh_from_db()
    assert streamed.state == State.OPEN
    client.post(manage, {"act": "log", "member": people.ana.pk, "mark": "2+9", "key": "k"})
    fact = Fact.objects.get()
    assert fact.entered_by == people.coach and fact.result.member == people.ana
    page = text_of(client.get(manage))
    assert "Logged: 1" in page and "Ben Okoro" in page
    correct = {"act": "correct", "result": fact.result.pk, "mark": "2+8", "reason": "misread"}
    client.post(manage, correct)
    assert list(Fact.objects.values_list("mark", "reason")) == [("2+9", ""), ("2+8", "misread")]
    client.post(manage, {"act": "withdraw", "result": fact.result.pk, "reason": "not hers"})
    client.post(manage, {"act": "close"})
    streamed.refresh_from_db()
    assert streamed.state == State.CLOSED
    assert "Logged: 0" in text_of(client.get(manage))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"text": "Bad\n\n5 rouns\n10 burpee"}, "Line 3"),
        ({"starts_at": "soon"}, "no date and time"),
        ({"tie_break_block": "3"}, "no end"),
        ({"tie_break_block": "x"}, "no number of a block"),
    ],
)
def test_what_is_wrong_is_told_and_what_was_typed_stays(people, sign_in, change, said):  # noqa: F811
    sent = {"text": TWO_LADDERS, "starts_at": "2026-12-01T18:30", "note": "my note", **change}
    answer = sign_in(people.coach).post(reverse("class-new"), sent)
    assert answer.status_code == 422 and said in text_of(answer)
    assert "my note" in answer.content.decode() and StreamedClass.objects.count() == 0


def test_a_draft_is_changed_and_an_open_class_is_not(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    draft = make_class(people, is_open=False)
    edit = reverse("class-edit", args=[draft.pk])
    assert client.get(edit).status_code == 200
    sent = {"text": TWO_LADDERS.replace("18:00", "20:00"), "starts_at": "2026-12-01T18:30"}
    assert client.post(edit, sent).status_code == 302
    assert "cap 20:00" in StreamedClass.objects.get().workout.text
    opened = make_class(people)
    assert client.post(reverse("class-edit", args=[opened.pk]), sent).status_code == 422


@pytest.mark.parametrize("sent", [{"act": "x"}, {"act": "correct", "result": "99"},
                                  {"act": "log", "member": "", "mark": "2+9"},
                                  {"act": "log", "member": "²", "mark": "2+9"}])  # fmt: skip
def test_bad_buttons_are_refused_not_crashes(people, sign_in, sent):  # noqa: F811
    streamed = make_class(people)
    answer = sign_in(people.coach).post(reverse("class-manage", args=[streamed.pk]), sent)
    assert answer.status_code == 422 and Fact.objects.count() == 0


def test_a_result_of_another_class_is_not_corrected_here(people, sign_in):  # noqa: F811
    other, here = make_class(people), make_class(people)
    result = log(other, people.ana, "2+9").result
    sent = {"act": "correct", "result": result.pk, "mark": "1+1", "reason": "x"}
    answer = sign_in(people.coach).post(reverse("class-manage", args=[here.pk]), sent)
    assert answer.status_code == 422 and Fact.objects.count() == 1


@pytest.mark.parametrize(
    ("who", "status"),
    [("ana", 403), ("foreigner", 403), ("foreign_coach", 404), ("coach", 200), ("owner", 200)],
)
def test_only_the_gyms_coaches_have_these_pages(people, sign_in, who, status):  # noqa: F811
    streamed = make_class(people, is_open=False)
    client = sign_in(getattr(people, who))
    for name in ("class-manage", "class-edit"):
        assert client.get(reverse(name, args=[streamed.pk])).status_code == status
    expected = 200 if "coach" in who or who == "owner" else 403
    assert client.get(reverse("class-new")).status_code == expected
    assert client.post(reverse("workout-preview"), {"text": "x"}).status_code == expected


def test_those_usually_here_stand_first_among_the_missing_and_go_into_the_form(people, sign_in):  # noqa: F811
    for _ in range(3):
        log(make_class(people), people.cleo, "2+9")
    streamed = make_class(people)
    streamed.starts_at = NOW + timedelta(days=1)
    streamed.save()
    client = sign_in(people.coach)
    manage = reverse("class-manage", args=[streamed.pk])
    page = client.get(manage).content.decode()
    assert "Usually here: 1" in page
    first = page.index("Not logged: ", page.index('id="missing"'))
    assert page.index("Cleo Wren", first) < page.index("Ana Sol", first)
    assert f'name="for" value="{people.cleo.pk}"' in page
    chosen = client.get(manage, {"for": people.cleo.pk}).content.decode()
    assert 'value="Cleo Wren "' in chosen and "autofocus" in chosen
    assert f'id="line-member" value="{people.cleo.pk}"' in chosen


def test_a_refused_correction_stands_again_with_what_was_typed(people, sign_in):  # noqa: F811
    streamed = make_class(people)
    result = log(streamed, people.ana, "2+9").result
    client = sign_in(people.coach)
    form = client.get(reverse("result-correct", args=[result.pk])).content.decode()
    assert 'value="2+9"' in form and "Take off the board" in form
    sent = {"act": "correct", "result": result.pk, "mark": "banana", "reason": "misheard"}
    answer = client.post(reverse("class-manage", args=[streamed.pk]), sent)
    page = answer.content.decode()
    assert answer.status_code == 422 and "Ana Sol" in page and 'id="fault-mark"' in page
    assert page.count('value="banana"') == 1 and page.count('value="misheard"') == 1


@pytest.mark.parametrize("state", ["draft", "open", "closed"])
@pytest.mark.parametrize("name", ["class", "class-manage"])
def test_a_coach_has_all_to_brief_a_class_before_while_and_after(people, sign_in, name, state):  # noqa: F811
    streamed = make_class(people, is_open=state != "draft")
    if state == "closed":
        close_class(streamed_class=streamed, by=people.coach, now=NOW)
    page = text_of(sign_in(people.coach).get(reverse(name, args=[streamed.pk])))
    wanted = ("18:00", "tuck rock", "0.75", "dumbbell", "Load held at the chest", "Cautions")
    assert [word for word in wanted if word not in page] == []
    assert "Europe/Lisbon time" in page


def test_no_field_says_the_name_of_a_value(people, sign_in):  # noqa: F811
    streamed, draft = make_class(people), make_class(people, is_open=False)
    result = log(streamed, people.ana, "2+9").result
    client = sign_in(people.coach)
    addresses = [reverse("class-new"), reverse("class-edit", args=[draft.pk])]
    addresses += [
        reverse(n, args=[streamed.pk]) for n in ("class-manage", "class-log", "class-log-for")
    ]
    addresses.append(reverse("result-correct", args=[result.pk]))
    for address in addresses:
        page = client.get(address).content.decode()
        assert (
            re.findall(
                r">\s*(?:post|given|typed|form|fault)\.\w+|=\"(?:post|given|typed|form|fault)\.\w+",
                page,
            )
            == []
        )


def test_a_fault_stands_beside_its_field(people, sign_in):  # noqa: F811
    sent = {"text": TWO_LADDERS, "starts_at": "soon"}
    page = sign_in(people.coach).post(reverse("class-new"), sent).content.decode()
    assert 'id="fault-starts_at"' in page and 'aria-describedby="fault-starts_at' in page


def test_a_correction_leaves_the_members_note_effort_and_splits(people, client):
    streamed = make_class(people, tie_break_block=1)
    result = log(
        streamed,
        people.ana,
        "2+9",
        note="hot",
        effort=8,
        splits={"1": "4:10"},
        unbroken={"1.1": 18},
    ).result
    client.force_login(people.coach.user)
    page = reverse("class-manage", args=[streamed.pk])
    form = reverse("result-correct", args=[result.pk])
    assert "block 1 4:10" in client.get(form).content.decode()
    sent = {"act": "correct", "result": result.pk, "mark": "1+9", "reason": "seen on the stream"}
    client.post(page, sent | {"splits": "block 1 4:15"})
    fact = result.facts.latest("number")
    assert (fact.mark, fact.splits, fact.note, fact.effort) == ("1+9", "block 1 4:15", "hot", 8)
    assert fact.unbroken == "1.1 18"
    # So few reps that the unbroken set can't have been: it goes, the rest stays.
    client.post(page, sent | {"mark": "5 reps"})
    assert result.facts.latest("number").unbroken == ""


def test_a_coach_follows_up_and_uses_a_workout_again(people, client):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    client.force_login(people.coach.user)
    history = reverse("member-history", args=[people.ana.pk])
    page = reverse("member-page", args=[people.ana.pk])
    assert page in client.get(reverse("member-list")).content.decode()
    assert history in client.get(page).content.decode()
    assert "2 rounds + 9" in client.get(history).content.decode()
    again = client.get(reverse("class-new"), {"from": streamed.workout_id}).content.decode()
    assert "hand-release push-up" in again and "Two ladders and a tide" in again
    for nothing in ("", "x", "99999", "9" * 40):
        assert client.get(reverse("class-new"), {"from": nothing}).status_code == 200


def test_a_coach_sets_when_an_open_class_closes_by_itself(people, client, time_machine):
    time_machine.move_to(NOW)
    streamed = make_class(people)
    client.force_login(people.coach.user)
    page = reverse("class-manage", args=[streamed.pk])
    assert "It stays open until you close it" in client.get(page).content.decode()
    # By the clock of Lisbon, which is UTC in November.
    client.post(page, {"act": "closing", "closes_at": "2026-11-24T20:00"})
    streamed.refresh_from_db()
    assert streamed.closes_at == NOW.replace(hour=20, minute=0)
    assert "It closes by itself" in client.get(page).content.decode()
    for wrong in ("2026-11-24T18:00", "soon"):
        answer = client.post(page, {"act": "closing", "closes_at": wrong})
        html = answer.content.decode()
        assert (
            answer.status_code == 422 and f'value="{wrong}"' in html and "fault-closes_at" in html
        )
    client.post(page, {"act": "closing", "closes_at": ""})
    streamed.refresh_from_db()
    assert streamed.closes_at is None
