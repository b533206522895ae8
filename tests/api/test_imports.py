"""Bringing results in by programs."""

import json

import pytest
from django.urls import reverse

from scoring.models import Fact

from ..scoring.classes import make_class

CHAT = "Ana: 2+9 tuck\nBen 2+30\nCleo: 12\nhello"


@pytest.fixture
def streamed(people):
    return make_class(people)


@pytest.fixture
def ask(people, client, django_capture_on_commit_callbacks):
    client.force_login(people.coach.user)

    def _ask(method, name, *args, status=200, query="", **body):
        with django_capture_on_commit_callbacks(execute=True):
            answer = client.generic(
                method,
                reverse(name, args=args) + query,
                json.dumps(body),
                content_type="application/json",
            )
        assert answer.status_code == status, answer.content
        return answer.json() if answer.content else None

    return _ask


def test_a_chat_is_given_mended_confirmed_and_taken_back(streamed, ask):
    run = ask("POST", "api-imports", streamed.pk, kind="chat", text=CHAT, status=201)
    run = ask("GET", "api-import", run["id"])
    assert (run["state"], run["lines"], run["class"]) == ("checking", 4, streamed.pk)
    assert {s: n for s, n in run["counts"].items() if n} == {
        "good": 1, "wrong": 1, "doubtful": 1, "chatter": 1,
    }  # fmt: skip
    [wrong] = ask("GET", "api-import-lines", run["id"], query="?state=wrong")["results"]
    assert wrong["number"] == 2 and "3+6" in wrong["problems"][0]["suggestion"]
    mended = ask("PATCH", "api-import-line", run["id"], 2, changes={"text": "Ben 3+6"})
    assert (mended["state"], mended["mark"]) == ("good", "3+6")
    asked = ask("GET", "api-import-lines", run["id"], query="?state=doubtful")["results"][0]
    [doubt] = asked["doubts"]
    answered = ask("PATCH", "api-import-line", run["id"], 3,
                   answers={doubt["part"]: doubt["choices"][0]})  # fmt: skip
    assert (answered["state"], answered["mark"]) == ("good", "12+0")
    assert not Fact.objects.exists()
    ask("POST", "api-import-confirm", run["id"], status=202)
    run = ask("GET", "api-import", run["id"])
    assert (run["state"], run["counts"]["saved"]) == ("done", 3)
    ask("POST", "api-import-undo", run["id"], reason="wrong class", status=202)
    assert ask("GET", "api-import", run["id"])["state"] == "undone"
    assert not streamed.scores.exists()
    assert ask("GET", "api-imports", streamed.pk)["count"] == 1


def test_a_file_is_given_as_its_text_and_an_import_is_thrown_away(streamed, ask):
    text = "name;mark;effort\nAna Sol;2+9;7\n"
    run = ask("POST", "api-imports", streamed.pk, kind="sheet", text=text, status=201)
    [line] = ask("GET", "api-import-lines", run["id"])["results"]
    assert (line["cells"]["name"], line["effort"]) == ("Ana Sol", 7)
    ask("DELETE", "api-import", run["id"], status=204)
    ask("GET", "api-import", run["id"], status=404)


def test_what_cannot_be_done_is_a_problem_with_a_pointer(streamed, people, ask):
    told = ask("POST", "api-imports", streamed.pk, kind="sheet", text="who\nAna", status=422)
    assert told["errors"][0]["pointer"] == "/file"
    run = ask("POST", "api-imports", streamed.pk, kind="chat", text="hello", status=201)
    ask("POST", "api-import-confirm", run["id"], status=422)
    ask("POST", "api-import-undo", run["id"], status=409)
    ask("PATCH", "api-import-line", run["id"], 1, status=400)
    ask("PATCH", "api-import-line", run["id"], 1, member=people.foreigner.pk, status=422)
    ask("PATCH", "api-import-line", run["id"], 9, skip=True, status=404)
