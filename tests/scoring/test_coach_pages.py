"""The coach's pages without JavaScript: write, open, log for somebody, correct, close."""

import pytest
from django.urls import reverse

from scoring.models import Fact, State, StreamedClass

from ..conftest import TWO_LADDERS
from .classes import log, make_class
from .test_pages import sign_in, text_of  # noqa: F401 - a fixture


def test_a_coach_writes_a_class_and_runs_it(people, sign_in):  # noqa: F811
    client = sign_in(people.coach)
    new = reverse("class-new")
    sent = {"text": TWO_LADDERS, "starts_at": "2026-12-01T18:30", "note": "bring a mat"}
    seen = text_of(client.post(new, {**sent, "preview": "1"}))
    assert "36 goblet squat" in seen and StreamedClass.objects.count() == 0
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
