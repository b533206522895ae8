"""Who gets through at every address: generated from the addresses there are.

A new address fails here until it says whom it is for. Denied is a way to sign in, 401, 403
or 404; everything else, a fault in what was sent included, got through the gate.
"""

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from members.feeds import make_feed
from members.models import Invitation
from members.services import invite
from scoring.core.follow_up import Reason
from scoring.messages.links import unsubscribe_token
from scoring.models import (
    ChangedClass,
    ChangeRequest,
    ClassTemplate,
    CreditChange,
    ImportLine,
    ImportRun,
    MessageKind,
)
from scoring.services.classes import close_class
from scoring.services.follow_up import hide_for_good
from scoring.services.notes import add_note

from .conftest import NOW
from .scoring.classes import log, make_class

VIEWERS = ("stranger", "foreigner", "foreign_coach", "cleo", "ana", "coach", "owner")
INSIDE = {"cleo", "ana", "coach", "owner"}
COACHES = {"coach", "owner"}
ANY_COACH = COACHES | {"foreign_coach"}
MEMBERS = set(VIEWERS) - {"stranger"}

# Whom an address is for. "class" and "result" depend on the state and on a hidden name.
GET, POST, PUT, PATCH, DELETE = "GET", "POST", "PUT", "PATCH", "DELETE"
TABLE = {
    "home": (GET, "all"),
    "cautions": (GET, "all"),
    "health": (GET, "all"),
    "health-live": (GET, "all"),
    "health-ready": (GET, "all"),
    "metrics": (GET, "nobody"),
    "join": (GET, "all"),
    "api-schema": (GET, "all"),
    "api-docs": (GET, "all"),
    "profile": (GET, "members"),
    "device-list": (GET, "members"),
    "calendar": (GET, "members"),
    "calendar-feed": (GET, "all"),  # its address is its secret
    "week": (GET, "members"),
    "gym-choose": (POST, "nobody"),  # names a gym of one's own, and none is sent here
    "class-list": (GET, "members"),
    "history": (GET, "members"),
    "progress": (GET, "members"),
    "setup": (GET, "members"),
    "my-messages": (GET, "members"),
    "unsubscribe": (GET, "all"),
    "body": (GET, "members"),
    "sign-out-everywhere": (GET, "members"),
    "gym-settings": (GET, "owners"),
    "privacy": (GET, "members"),
    "export": (GET, "members"),
    "export-file": (GET, "nobody"),  # a link of somebody's own, and none is sent here
    "leave": (GET, "members"),
    "erase-me": (GET, "members"),
    "member-list": (GET, "any coach"),
    "audit": (GET, "any coach"),
    "api-audit": (GET, "any coach"),
    "api-closing": (PUT, "coaches"),
    "class-new": (GET, "any coach"),
    "workout-preview": (POST, "any coach"),
    "class": (GET, "class"),
    "class-briefing": (GET, "class"),
    "class-log": (GET, "class"),
    "class-log-try": (POST, "class"),
    "class-board": (GET, "class"),
    "board-rows": (GET, "class"),
    "class-manage": (GET, "coaches"),
    "class-review": (GET, "coaches"),
    "class-review-csv": (GET, "coaches"),
    "class-live": (GET, "coaches"),
    "class-log-for": (GET, "coaches"),
    "result-correct": (GET, "coaches"),
    "class-import": (GET, "coaches"),
    "import-page": (GET, "coaches"),
    "api-imports": (GET, "coaches"),
    "api-import": (GET, "coaches"),
    "api-import-lines": (GET, "coaches"),
    "api-import-line": (PATCH, "coaches"),
    "api-import-confirm": (POST, "coaches"),
    "api-import-undo": (POST, "coaches"),
    "member-history": (GET, "coaches"),
    "member-page": (GET, "coaches"),
    "compare": (GET, "any coach"),
    "workout-runs": (GET, "coaches"),
    "class-edit": (GET, "coaches"),
    "class-screen": (GET, "class"),
    "class-link": (GET, "coaches"),
    "class-sheet": (GET, "coaches"),
    "class-move": (GET, "coaches"),
    "class-delete": (GET, "coaches"),
    "plan-week": (GET, "any coach"),
    "forecast-record": (GET, "any coach"),
    "plan-add": (GET, "any coach"),
    "plan-copy": (GET, "any coach"),
    "workout-search": (GET, "any coach"),
    "workout-repeat": (GET, "coaches"),
    "class-templates": (GET, "any coach"),
    "template-new": (GET, "any coach"),
    "template-edit": (GET, "coaches"),
    "template-remove": (GET, "coaches"),
    "api-workout-search": (GET, "any coach"),
    "api-workout-repeat": (POST, "coaches"),
    "api-week": (GET, "any coach"),
    "api-week-copy": (POST, "any coach"),
    "api-templates": (GET, "any coach"),
    "api-template": (GET, "coaches"),
    "api-class-draft": (PATCH, "coaches"),
    "api-class-link": (GET, "coaches"),
    "estimates": (GET, "any coach"),
    "credits": (GET, "any coach"),
    "credits-history": (GET, "any coach"),
    "fairness": (GET, "any coach"),
    "credit-change": (GET, "coaches"),
    "credit-change-progress": (GET, "coaches"),
    "credit-change-class": (GET, "coaches"),
    "follow-up": (GET, "any coach"),
    "follow-up-words": (GET, "any coach"),
    "follow-up-write": (GET, "coaches"),
    "result": (GET, "result"),
    "result-opened": (GET, "result"),
    "result-withdraw": (POST, "result"),
    "api-me": (GET, "members"),
    "api-calendar": (GET, "members"),
    "api-body": (GET, "members"),
    "api-leave": (POST, "members"),
    "api-sign-out-everywhere": (POST, "members"),
    "api-privacy": (GET, "members"),
    "api-export": (GET, "members"),
    "api-export-file": (GET, "nobody"),
    "api-erasure": (GET, "members"),
    "api-gym": (GET, "owners"),
    "api-history": (GET, "members"),
    "api-gear": (GET, "members"),
    "api-progress": (GET, "members"),
    "api-my-level": (GET, "members"),
    "api-member-level": (GET, "coaches"),
    "api-result-after": (GET, "owner of the result"),
    "api-messages": (GET, "members"),
    "api-briefing": (GET, "class"),
    "api-mine": (GET, "class"),
    "api-members": (GET, "any coach"),
    "api-member": (PATCH, "coaches"),
    "api-member-seen": (GET, "coaches"),
    "api-member-notes": (GET, "coaches"),
    "api-note-strike": (POST, "coaches"),
    "api-compare": (GET, "any coach"),
    "api-runs": (GET, "coaches"),
    "api-invitations": (GET, "any coach"),
    "api-invitation": (DELETE, "coaches"),
    "api-tokens": (GET, "members"),
    "api-token": (DELETE, "nobody"),
    "api-workouts": (GET, "members"),
    "api-workout": (GET, "workout"),
    "api-workout-preview": (POST, "any coach"),
    "api-workout-forecast": (POST, "any coach"),
    "api-forecast-record": (GET, "any coach"),
    "api-class-forecast": (GET, "coaches"),
    "api-classes": (GET, "members"),
    "api-class": (GET, "class"),
    "api-class-open": (POST, "coaches"),
    "api-class-close": (POST, "coaches"),
    "api-class-reopen": (POST, "coaches"),
    "api-attendance": (GET, "coaches"),
    "api-review": (GET, "coaches"),
    "api-class-effect": (GET, "coaches"),
    "api-class-live": (GET, "coaches"),
    "api-class-lines": (POST, "coaches"),
    "api-class-questions": (GET, "coaches"),
    "api-try": (POST, "class"),
    "api-results": (POST, "class"),
    "api-requests": (GET, "class"),
    "api-answer": (POST, "coaches"),
    "api-estimate": (GET, "any coach"),
    "api-estimate-refresh": (POST, "any coach"),
    "api-credits": (GET, "any coach"),
    "api-credit-versions": (GET, "any coach"),
    "api-fairness": (GET, "any coach"),
    "api-credit-changes": (GET, "any coach"),
    "api-credit-change": (GET, "coaches"),
    "api-credit-change-classes": (GET, "coaches"),
    "api-credit-change-moves": (GET, "coaches"),
    "api-credit-change-accept": (POST, "coaches"),
    "api-credit-change-anew": (POST, "coaches"),
    "api-credit-change-go-on": (POST, "coaches"),
    "api-credit-change-undo": (POST, "coaches"),
    "api-follow-ups": (GET, "any coach"),
    "api-follow-ups-away": (GET, "any coach"),
    "api-follow-up-away": (DELETE, "coaches"),
    "api-follow-up-words": (GET, "any coach"),
    "api-follow-up-words-one": ("PUT", "any coach"),
    "api-follow-up-settings": (GET, "any coach"),
    "api-follow-up": (GET, "coaches"),
    "api-follow-up-draft": (GET, "coaches"),
    "api-follow-up-letters": (POST, "coaches"),
    "api-board": (GET, "class"),
    "api-board-csv": (GET, "class"),
    "api-result": (GET, "result"),
    "api-correct": (POST, "coaches"),
    "api-withdraw": (POST, "owner of the result"),
}


ABOUT_BEN = (
    "api-member-level",
    "api-member", "member-history", "follow-up-write", "api-follow-up", "api-follow-up-draft",
    "api-follow-up-letters",
)  # fmt: skip


def ours(resolver=None, inside=""):
    """Every named address but those of libraries."""
    for pattern in (resolver or get_resolver()).url_patterns:
        if isinstance(pattern, URLResolver):
            route = inside + str(pattern.pattern)
            if not route.startswith(("accounts/", "admin/")):
                yield from ours(pattern, route)
        elif isinstance(pattern, URLPattern) and not str(pattern.pattern).startswith("accounts/"):
            yield pattern


def test_every_address_says_whom_it_is_for():
    found = [pattern.name for pattern in ours()]
    assert sorted(found) == sorted(TABLE)


@pytest.fixture(params=["draft", "open", "closed"])
def state(request):
    return request.param


@pytest.fixture(params=[False, True], ids=["named", "unnamed"])
def hidden(request):
    return request.param


@pytest.fixture
def scene(people, state, hidden):
    streamed = make_class(people, is_open=state != "draft")
    seen = make_class(people)
    result = log(seen if state == "draft" else streamed, people.ana, "2+9").result
    if state == "closed":
        streamed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    if hidden:
        people.ana.shown_as = "unnamed"
        people.ana.save()
    return with_keys(people, streamed, result)


def with_keys(people, streamed, result):
    """A class and a result with whatever else an address may name."""
    return {
        "people": people,
        "class": streamed,
        "result": result,
        "link": invite(by=people.coach, now=NOW),
        "request": ChangeRequest.objects.get_or_create(
            streamed_class=streamed,
            member=people.ana,
            defaults={"mark": "2+9", "words": "please"},
        )[0],
        "template": ClassTemplate.objects.get_or_create(
            gym=people.gym, name="A frame", defaults={"text": "cap ___"}
        )[0],
        "credits": with_change(people, streamed),
        "away": hide_for_good(
            member=people.ben, by=people.coach, reason=Reason.BEST, now=timezone.now()
        ),
        "import": an_import(people, streamed),
        "calendar": make_feed(membership=people.ana, now=NOW),
        "note": add_note(member=people.ana, by=people.coach, words="planted-coach-note", now=NOW),
    }


def with_change(people, streamed):
    """A change of credits that concerns the class."""
    change = CreditChange.objects.create(
        gym=people.gym,
        entries=[{"movement": "hollow rock", "option": "v-up", "credit": "0.9"}],
        reason="to see",
        state=CreditChange.State.SHOWN,
        from_version=streamed.credit_table,
    )
    ChangedClass.objects.create(
        change=change, streamed_class=streamed, from_table=streamed.credit_table
    )
    return change


def an_import(people, streamed):
    """An import of one line, also into a draft, which the service would not begin."""
    run, is_new = ImportRun.objects.get_or_create(
        gym=people.gym, streamed_class=streamed, by=people.coach, kind="chat", state="checking"
    )
    if is_new:
        ImportLine.objects.create(run=run, number=1, text="Ana: 2+9", state="wrong")
    return run


def address(name, scene):
    """The address with the scene's own keys."""
    pattern = next(p for p in ours() if p.name == name)
    keys = {
        "pk": scene["class"].pk,
        "token": scene["link"].token,
        "key": "abc",
        "week": "2026-W48",
        "reason": "first",
        "number": 1,
    }
    if name in ("template-edit", "template-remove", "api-template"):
        keys["pk"] = scene["template"].pk
    if name in ("import-page", "api-import") or name.startswith("api-import-"):
        keys["pk"] = scene["import"].pk
    if "result" in name or name in ("api-correct", "api-withdraw"):
        keys["pk"] = scene["result"].pk
    if name == "api-answer":
        keys["pk"] = scene["request"].pk
    if name.startswith(("credit-change", "api-credit-change")):
        keys |= {"pk": scene["credits"].pk, "class_pk": scene["class"].pk}
    if name == "calendar-feed":
        keys["token"] = scene["calendar"]
    if name == "unsubscribe":
        keys["token"] = unsubscribe_token(scene["people"].ana, MessageKind.OPENED)
    if name == "api-results":
        keys["pk"] = scene["class"].pk
    if name == "api-follow-up-away":
        keys["pk"] = scene["away"].pk
    if name in ABOUT_BEN:
        keys["pk"] = scene["people"].ben.pk
    if name in ("member-page", "api-member-seen", "api-member-notes"):
        keys["pk"] = scene["people"].ana.pk
    if name == "api-note-strike":
        keys["pk"] = scene["note"].pk
    if name == "api-invitation":
        keys["pk"] = Invitation.objects.get().pk
    if name.removeprefix("api-") in ("workout", "workout-runs", "runs", "workout-repeat"):
        keys["pk"] = scene["class"].workout_id
    return reverse(name, kwargs={k: keys[k] for k in pattern.pattern.converters})


def allowed(whom, state, hidden):
    return {
        "all": set(VIEWERS),
        "members": MEMBERS,
        "any coach": ANY_COACH,
        "coaches": COACHES,
        "owners": {"owner"},
        "class": COACHES if state == "draft" else INSIDE,
        # The workout is also that of a class that is open in every scene.
        "workout": INSIDE,
        "result": COACHES | {"ana"} if hidden else INSIDE,
        "owner of the result": COACHES | {"ana"},
        "nobody": set(),
    }[whom]


def matters(whom, state, hidden):
    """Whether a scene may change who gets through; all is asked in the plainest one."""
    if (state, hidden) == ("open", False):
        return True
    by_name = {"result", "owner of the result"}
    return whom in (by_name if hidden else by_name | {"class", "workout", "coaches"})


def gets_through(answer):
    to_sign_in = answer.status_code == 302 and "/accounts/" in answer.url
    return answer.status_code not in (401, 403, 404) and not to_sign_in


@pytest.mark.parametrize("who", VIEWERS)
def test_those_it_is_for_and_nobody_else_get_through(scene, state, hidden, who):
    wrong = []
    for name, (method, whom) in TABLE.items():
        if not matters(whom, state, hidden):
            continue
        client = Client()
        if who != "stranger":
            client.force_login(getattr(scene["people"], who).user)
        with transaction.atomic():
            answer = client.generic(
                method,
                address(name, scene),
                b"{}" if name.startswith("api-") else b"",
                content_type="application/json"
                if name.startswith("api-")
                else "application/x-www-form-urlencoded",
            )
            transaction.set_rollback(True)
        if gets_through(answer) is not (who in allowed(whom, state, hidden)):
            wrong.append((name, answer.status_code))
    assert wrong == []
