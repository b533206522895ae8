"""Whatever is asked by an address, a form or a header, nothing here breaks.

Fields are those the pages read, found in their source; values are valid ones made odd. An
answer may refuse in many ways, but it is never a server error.
"""

import json
import logging
import re
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.db import transaction
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from .addresses import address, ours, rules, with_keys
from .api.conftest import device, problem
from .hostile import (
    CHATS,
    CLOCKS,
    CREDITS,
    MARKS,
    ODD,
    OPTIONS,
    SHEETS,
    SPLITS,
    TOLD,
    WORKOUTS,
    hostile,
    inputs,
)  # fmt: skip
from .scoring.classes import log, make_class

ROOT = Path(__file__).resolve().parents[1]
SOURCE = "\n".join(
    path.read_text(encoding="utf-8")
    for package in ("scoring/pages", "members", "gymsite")
    for path in sorted((ROOT / package).rglob("*.py"))
)
FIELDS = sorted(
    set(
        re.findall(r"""(?:GET|POST|sent|post|data|get)(?:\.get|\.getlist|)[(\[]\"(\w+)\"""", SOURCE)
    )
)
ACTS = sorted(set(re.findall(r'act(?:"\)|"\]|) (?:==|!=) "(\w+)"', SOURCE)))
API_FIELDS = ["limit", "offset", "state", "view", "from", "to", "by", "q", "since", "class", "member",
              "what", "words", "pattern", "shortest", "longest", "ran_from", "ran_to", "occasion"]  # fmt: skip
VALUES = (*CHATS, *CLOCKS, *CREDITS, *MARKS, *OPTIONS, *SHEETS, *SPLITS, *TOLD, *WORKOUTS,
          *["0", "1", "2", "3", "7", "12", "on", "yes", "no", "true", "open", "closed", "draft", "coach", "member", "owner", "raw", "credited"])  # fmt: skip
BROWSER = {"content_type": "application/x-www-form-urlencoded"}


@pytest.fixture
def scene(people):
    logging.disable(logging.CRITICAL)
    streamed = make_class(people)
    yield with_keys(people, streamed, log(streamed, people.ana, "2+9").result)
    logging.disable(logging.NOTSET)


@pytest.fixture
def owner(scene):
    client = Client()
    client.force_login(scene["people"].owner.user)
    return client


@contextmanager
def undone():
    """What is done meanwhile is undone."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def test_the_fields_of_the_pages_are_found():
    assert len(FIELDS) > 40 and len(ACTS) > 15
    assert {"q", "page", "start", "week", "mark"} <= set(FIELDS)


GETS = [name for name, method, _ in rules() if method == "GET"]
POSTS = [name for name, method, _ in rules() if method == "POST" and not name.startswith("api-")]


def test_every_address_takes_any_question(scene, owner):
    @given(
        st.sampled_from(GETS),
        st.dictionaries(
            st.sampled_from([*FIELDS, *API_FIELDS]), hostile(VALUES, most=2), max_size=6
        ),
    )
    @inputs(3)
    def holds(name, asked):
        where = address(name, scene)
        with undone():
            answer = owner.get(where, {k: v.encode("utf-8", "replace") for k, v in asked.items()})
        assert answer.status_code < 500, (where, asked)

    holds()


def test_every_form_takes_anything(scene, owner):
    @given(
        st.sampled_from(POSTS),
        st.sampled_from(ACTS),
        st.dictionaries(st.sampled_from(FIELDS), hostile(VALUES, most=2), max_size=10),
    )
    @inputs(3)
    def holds(name, act, sent):
        where = address(name, scene)
        data = {k: v.encode("utf-8", "replace") for k, v in sent.items()}
        with undone():
            answer = owner.post(where, data | {"act": act})
        assert answer.status_code < 500, (where, act, sent)

    holds()


# The greatest number that a database has, the first beyond it, and what no column holds.
GREAT = ["9223372036854775807", "9223372036854775808", "9" * 30, "9" * 300]
NUMBERED = sorted(
    {
        (name, method)
        for name, method, _ in rules()
        if method != "HEAD" and "<int:" in str(next(p for p in ours() if p.name == name).pattern)
    }
)


@pytest.mark.parametrize(("name", "method"), NUMBERED)
def test_a_number_beyond_every_key_is_not_there(owner, scene, name, method):
    where = str(next(p for p in ours() if p.name == name).pattern)
    inside = "/api/v1/" if name.startswith("api-") else "/"
    others = {"<int:number>": "1", "<str:token>": "x", "<str:week>": "2026-W48"}
    for great in GREAT:
        path = inside + re.sub(r"<int:(pk|class_pk)>", great, where)
        for mark, value in others.items():
            path = path.replace(mark, value)
        with undone():
            answer = owner.generic(method, path, "{}", content_type="application/json")
        assert 400 <= answer.status_code < 500, (path, answer.status_code)


HEADERS = ("Idempotency-Key", "If-Match", "If-None-Match", "If-Modified-Since", "X-Gym", "Accept", "Range",
           "Accept-Language", "Content-Type", "Authorization", "Cookie", "HX-Request", "HX-Current-URL")  # fmt: skip
HEADER_VALUES = ('"1"', 'W/"1"', '*', '"a", "b"', "application/json; q=0.5", "text/html", "*/*;q=x", "Token x",
                 "bytes=0-1", "en-gb", "1", "true", "sessionid=x; csrftoken=y", "http://x/", "Sat, 29 Feb 2100 99:99:99 GMT")  # fmt: skip


def test_headers_may_say_anything(scene):
    api = device(scene["people"].owner)
    known = {
        "api-results": {"mark": "2+9"},
        "api-class": {"note": "x"},
        "api-class-lines": {"line": "ben 2+9"},
    }

    @given(
        st.sampled_from(["api-results", "api-class", "api-class-lines", "api-board", "health"]),
        st.dictionaries(
            st.sampled_from(HEADERS), hostile(HEADER_VALUES, most=3), min_size=1, max_size=3
        ),
    )
    @inputs(3)
    def holds(name, sent):
        # What a server hands over: no line ends or NUL, and letters of Latin-1 alone.
        headers = {
            k: re.sub(r"[\r\n\0]", "", v).encode("latin-1", "replace").decode("latin-1")
            for k, v in sent.items()
        }
        method = {"api-results": "POST", "api-class": "PATCH", "api-class-lines": "POST"}.get(
            name, "GET"
        )
        kind = headers.pop("Content-Type", "application/json")
        body = json.dumps(known.get(name, {})).encode() if method != "GET" else b""
        with undone():
            answer = api.generic(
                method, address(name, scene), body, content_type=kind, headers=headers
            )
        assert answer.status_code < 500, (name, sent)

    holds()


@pytest.mark.parametrize("count", [1_000, 3_000])
def test_any_number_of_questions_is_answered_or_refused(scene, owner, count):
    for name in ("workout-search", "compare", "api-board", "api-members", "class-board"):
        answer = owner.get(address(name, scene) + "?" + "&".join(f"q{n}=1" for n in range(count)))
        assert answer.status_code in ((200, 400) if count < 2_000 else (400,)), (
            name,
            answer.status_code,
        )
        if name.startswith("api-") and answer.status_code == 400:
            problem(answer, 400)


DEEP = [100, 900, 5_000, 100_000]


@pytest.mark.parametrize("depth", DEEP)
@pytest.mark.parametrize("pair", ["[]", "{}"])
def test_json_nested_however_deep_is_a_refusal(scene, depth, pair):
    api = device(scene["people"].owner)
    opened = "[" if pair == "[]" else '{"a":'
    nested = opened * depth + "1" + pair[1] * depth
    for name, method in (
        ("api-results", "POST"),
        ("api-class", "PATCH"),
        ("api-import-line", "PATCH"),
    ):
        for body in (
            nested,
            f'{{"mark": {nested}, "text": {nested}, "splits": {nested}, "changes": {nested}}}',
        ):
            answer = api.generic(
                method, address(name, scene), body, content_type="application/json",
                headers={"Idempotency-Key": "deep"},
            )  # fmt: skip
            problem(answer, answer.status_code)
            # Over 2 MB it is too large; not so deep, a field nobody knows or a class in use.
            assert answer.status_code in ((400, 413) if depth > 900 else (400, 409, 422)), body[:50]


NUMBERS = [
    "1" + "0" * 5_000,
    "1" + "0" * 10**6,
    "1e999999999",
    "-1e999999999",
    "1e-999999999",
    "1.5",
    "-0",
    "9223372036854775808",
]


@pytest.mark.parametrize("number", NUMBERS, ids=lambda n: n[:12])
def test_numbers_that_are_too_much_are_a_refusal(scene, number):
    api = device(scene["people"].owner)
    for name, method, body in (
        ("api-results", "POST", '{"mark": "2+9", "effort": %s}'),
        ("api-results", "POST", '{"mark": "2+9", "member": %s}'),
        ("api-results", "POST", '{"mark": %s}'),
        ("api-body", "PUT", '{"year_of_birth": %s}'),
        ("api-body", "PUT", '{"weight": %s}'),
        ("api-body", "PUT", '{"weight_kg": "%s"}'),
        (
            "api-credit-changes",
            "POST",
            '{"entries": [{"movement": "hollow rock", "option": "tuck rock", "credit": "%s"}], "reason": "x"}',
        ),
        ("api-classes", "POST", '{"workout": %s, "starts_at": "2026-12-01T18:30:00Z"}'),
    ):
        with undone():
            answer = api.generic(
                method, address(name, scene), body % number, content_type="application/json",
                headers={"Idempotency-Key": "much"},
            )  # fmt: skip
        assert answer.status_code < 500, (name, body)


LISTS = ("/coach/week/", "/classes/", "/week/", "/")
TIMES = ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00", "9999-12-31T23:59:59Z", "0001-01-01T00:00:00Z",
         "10000-01-01T00:00:00Z", "2026-02-30T00:00:00Z", "2026-12-01T24:00:00Z", "2026-12-01T18:30:60Z",
         "2026-12-01T18:30:00+99:99", "2026-12-01T18:30:00.1234567890Z", "-2026-12-01T18:30:00Z", "٢٠٢٦-12-01T18:30:00Z"]  # fmt: skip


@pytest.mark.parametrize("time", TIMES)
def test_times_at_the_ends_of_the_calendar_are_taken_or_refused(scene, owner, time):
    api = device(scene["people"].owner)
    text = WORKOUTS[0]
    for name, method, body in (
        ("api-classes", "POST", {"text": text, "starts_at": time}),
        (
            "api-classes",
            "POST",
            {"text": text, "starts_at": "2026-12-01T18:30:00Z", "closes_at": time},
        ),
        ("api-closing", "PUT", {"closes_at": time}),
        ("api-class-draft", "PATCH", {"starts_at": time, "day": time[:10], "week": time[:8]}),
        ("api-workout-repeat", "POST", {"starts_at": time}),
    ):
        with undone():
            answer = api.generic(
                method, address(name, scene), json.dumps(body), content_type="application/json"
            )
            assert answer.status_code < 500, (name, body)
            if answer.status_code == 201:  # and what was made can be looked at
                made = answer.json()["id"]
                for page in (f"/coach/classes/{made}/", f"/classes/{made}/briefing/", *LISTS):
                    assert owner.get(page).status_code < 500, (page, body)
    for page in ("plan-week", "compare", "api-compare", "workout-search", "plan-copy", "plan-add"):
        for field in ("week", "from", "to", "day", "ran_from", "ran_to", "date"):
            answer = owner.get(address(page, scene), {field: time[:10], "week": f"{time[:4]}-W01"})
            assert answer.status_code < 500, (page, field)


def test_odd_texts_are_what_they_seem():
    assert len(ODD) > 100 and "\0" in ODD
