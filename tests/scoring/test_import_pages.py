"""The pages of an import, by a client without a script."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from members.models import Membership
from scoring.messages import due
from scoring.models import Fact, ImportRun, Message, Result
from scoring.services import importing
from scoring.services.classes import close_class
from scoring.services.import_mending import accept_all

from ..conftest import NOW, add_member
from .classes import log, make_class
from .mail import prove_all
from .test_importing import begin, bring_in, take_back
from .told import chat, fill_gym, text_of

CHAT = "Hi all!\nAna: 2+9 tuck\nBen 2+30\nbne 2+5\nZed 1+1"


@pytest.fixture
def streamed(people):
    return make_class(people)


@pytest.fixture
def coach(people, client):
    client.force_login(people.coach.user)
    return client


def paste(client, streamed, text):
    answer = client.post(reverse("class-import", args=[streamed.pk]), {"text": text})
    assert answer.status_code == 302, answer.content.decode()
    return ImportRun.objects.latest("pk"), answer.url


def act(client, run, **post):
    return client.post(reverse("import-page", args=[run.pk]), post)


def test_a_pasted_chat_is_looked_through_mended_brought_in_and_taken_back(
    streamed, people, coach, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        run, url = paste(coach, streamed, CHAT)
    page = coach.get(url).content.decode()
    assert "Can&#x27;t be read: 2" in page or "Can't be read: 2" in page
    assert "Write 3+6" in page and "Nobody here is called" in page
    assert "Hi all!" not in page  # what is no result is no fault either
    assert "Hi all!" in coach.get(url + "?show=chatter").content.decode()
    assert not Fact.objects.exists()

    answer = act(coach, run, line="3", act="mend", text="Ben 3+6", who="", show="wrong")
    assert answer.status_code == 302 and "show=wrong" in answer.url
    with django_capture_on_commit_callbacks(execute=True):
        act(coach, run, line="5", act="new-member", new_name="Zed Zulu")
    assert Membership.objects.filter(display_name="Zed Zulu", gym=people.gym).exists()
    act(coach, run, line="4", act="skip")
    with django_capture_on_commit_callbacks(execute=True):
        act(coach, run, act="confirm", reason="")
    page = coach.get(url).content.decode()
    assert "Everything that could come in is in" in page
    assert sorted(Result.objects.values_list("member__display_name", flat=True)) == [
        "Ana Sol", "Ben Okoro", "Zed Zulu",
    ]  # fmt: skip
    with django_capture_on_commit_callbacks(execute=True):
        act(coach, run, act="undo", reason="wrong class")
    assert "was taken back" in coach.get(url).content.decode()
    assert not streamed.scores.exists() and Fact.objects.count() == 6


def test_a_file_is_chosen_and_what_is_wrong_with_it_stands_beside_it(
    streamed, coach, django_capture_on_commit_callbacks
):
    where = reverse("class-import", args=[streamed.pk])
    bad = SimpleUploadedFile("results.csv", b"who,what\nAna,2+9", "text/csv")
    answer = coach.post(where, {"file": bad, "text": ""})
    assert answer.status_code == 422 and b"There is no column" in answer.content
    large = SimpleUploadedFile("results.csv", b"x" * (importing.MAX_BYTES + 5), "text/csv")
    answer = coach.post(where, {"file": large, "text": ""})
    assert answer.status_code == 422 and b"more than 1 MB" in answer.content
    assert coach.post(where, {"text": "  "}).status_code == 422
    good = SimpleUploadedFile("results.csv", b"Member;Result\nAna Sol;2+9", "text/csv")
    with django_capture_on_commit_callbacks(execute=True):
        answer = coach.post(where, {"file": good, "text": ""})
    assert "Ana Sol" in coach.get(answer.url).content.decode()
    assert "File of" in coach.get(where).content.decode()


def test_a_refusal_keeps_what_was_typed(streamed, people, coach):
    run = begin(streamed, people, CHAT)
    answer = act(coach, run, line="3", act="mend", text="Ben 3+6", who="Nobody Known", show="wrong")
    page = answer.content.decode()
    assert answer.status_code == 422 and "It is not clear who" in page
    assert 'value="Nobody Known"' in page and 'value="Ben 3+6"' in page
    for post in ({"line": "99", "act": "skip"}, {"line": "x", "act": "skip"}, {"act": "?"},
                 {"line": "3", "act": "?"}, {"line": "3", "answer": "9:9"},
                 {"line": "3", "member": "0"}):  # fmt: skip
        assert act(coach, run, **post).status_code == 422, post


def test_two_of_one_name_can_be_told_apart_in_the_list(streamed, people, coach):
    twin = add_member(people.gym, "Ana Sol", email="other@example.org")
    run = begin(streamed, people, "Ana Sol 2+9")
    page = coach.get(reverse("import-page", args=[run.pk])).content.decode()
    assert f"Ana Sol, no. {twin.pk}" in page
    act(coach, run, line="1", act="mend", text="Ana Sol 2+9", who=f"Ana Sol, no. {twin.pk}")
    assert run.lines.get().member == twin


def test_a_closed_class_asks_why(streamed, people, coach, django_capture_on_commit_callbacks):
    run = begin(streamed, people, "Ana: 2+9")
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    answer = act(coach, run, act="confirm", reason="")
    assert answer.status_code == 422 and b"Say why results come in now" in answer.content
    with django_capture_on_commit_callbacks(execute=True):
        act(coach, run, act="confirm", reason="came late")
    assert Fact.objects.get().reason == "came late"


def test_while_it_is_at_work_the_page_says_how_far_and_can_take_it_up_again(
    streamed, people, coach, django_capture_on_commit_callbacks
):
    run = begin(streamed, people, "Ana: 2+9\nBen 1+1")
    importing.confirm_import(run=run, by=people.coach, reason="", now=NOW)
    page = coach.get(reverse("import-page", args=[run.pk])).content.decode()
    assert "0 in, 2 to go" in page and "<progress" in page
    assert act(coach, run, line="1", act="skip").status_code == 422
    with django_capture_on_commit_callbacks(execute=True):
        act(coach, run, act="go-on")
    assert Fact.objects.count() == 2


def test_500_lines_are_paged_and_take_a_fixed_number_of_queries(
    streamed, people, coach, django_assert_max_num_queries
):
    fill_gym(people.gym)
    run = begin(streamed, people, text_of(chat()))
    where = reverse("import-page", args=[run.pk])
    with django_assert_max_num_queries(14):
        page = coach.get(where + "?show=all").content.decode()
    assert page.count('id="line-') == 50 and "Page 1 of 10" in page
    with django_assert_max_num_queries(14):
        assert "Page 2 of" in coach.get(where + "?show=all&page=2").content.decode()
    with django_assert_max_num_queries(14):
        coach.get(where + "?show=doubtful")


def test_only_whose_result_was_changed_are_written_to(
    streamed, people, django_capture_on_commit_callbacks
):
    prove_all()
    log(streamed, people.ben, "2+5")
    run = begin(streamed, people, "Ana: 2+9\nBen: 2+8\nCleo 1+1")
    accept_all(run=run, by=people.coach)
    with django_capture_on_commit_callbacks(execute=True):
        run = bring_in(run, people)
    told = Message.objects.filter(kind="corrected").values_list("member__display_name", flat=True)
    assert list(told) == ["Ben Okoro"]
    with django_capture_on_commit_callbacks(execute=True):
        take_back(run, people)
    assert list(told.all()) == ["Ben Okoro", "Ben Okoro"]  # it is 2+5 again
    due.missed(now=NOW)  # what was missed is looked for by the same rule
    assert set(told.all()) == {"Ben Okoro"}
