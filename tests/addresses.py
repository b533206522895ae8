"""Every address and every method of the site: whom it is for, and a scene with all it names."""

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
from scoring.services.follow_up import hide_for_good
from scoring.services.notes import add_note

from .conftest import NOW

VIEWERS = ("stranger", "foreigner", "foreign_coach", "cleo", "ana", "coach", "owner", "staff")
INSIDE = {"cleo", "ana", "coach", "owner"}
COACHES = {"coach", "owner"}
ANY_COACH = COACHES | {"foreign_coach"}
MEMBERS = INSIDE | {"foreigner", "foreign_coach"}
"""``ana`` owns the result, ``staff`` keeps the site and belongs to no gym."""

METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")

# Methods of an address and whom it is for. HEAD goes with GET, OPTIONS with an address of the
# API. "class" and "result" depend on the state and on a hidden name.
TABLE = {
    "home": ("GET", "all"),
    "cautions": ("GET", "all"),
    "health": ("GET", "all"),
    "health-live": ("GET", "all"),
    "health-ready": ("GET", "all"),
    "metrics": ("GET", "site staff"),
    "join": ("GET POST", "all"),
    "api-schema": ("GET", "all"),
    "api-docs": ("GET", "all"),
    "profile": ("GET POST", "members"),
    "device-list": ("GET POST", "members"),
    "calendar": ("GET POST", "members"),
    "calendar-feed": ("GET", "all"),  # its address is its secret
    "week": ("GET", "members"),
    "gym-choose": ("POST", "nobody"),  # names a gym of one's own, and none is sent here
    "class-list": ("GET", "members"),
    "history": ("GET", "members"),
    "progress": ("GET", "members"),
    "setup": ("GET POST", "members"),
    "my-messages": ("GET POST", "members"),
    "unsubscribe": ("GET POST", "all"),
    "body": ("GET POST", "members"),
    # What it answers leads to signing in, as a refusal does; tests/security tries it.
    "sign-out-everywhere": ("GET", "signed in", "POST", "nobody"),
    "gym-settings": ("GET POST", "owners"),
    "privacy": ("GET", "signed in"),
    "export": ("GET POST", "signed in"),
    "export-file": ("GET", "nobody"),  # a link of somebody's own, and none is sent here
    "leave": ("GET POST", "members"),
    "erase-me": ("GET POST", "signed in"),
    "member-list": ("GET POST", "any coach"),
    "audit": ("GET", "any coach"),
    "api-audit": ("GET", "any coach"),
    "api-closing": ("PUT", "coaches"),
    "class-new": ("GET POST", "any coach"),
    "workout-preview": ("POST", "any coach"),
    "class": ("GET", "class"),
    "class-briefing": ("GET", "class"),
    "class-log": ("GET POST", "class"),
    "class-log-try": ("POST", "class"),
    "class-board": ("GET", "class"),
    "board-rows": ("GET", "class"),
    "class-manage": ("GET POST", "coaches"),
    "class-review": ("GET", "coaches"),
    "class-review-csv": ("GET", "coaches"),
    "class-live": ("GET", "coaches"),
    "class-log-for": ("GET", "coaches"),
    "result-correct": ("GET", "coaches"),
    "class-import": ("GET POST", "coaches"),
    "import-page": ("GET POST", "coaches"),
    "api-imports": ("GET POST", "coaches"),
    "api-import": ("GET DELETE", "coaches"),
    "api-import-lines": ("GET", "coaches"),
    "api-import-line": ("PATCH", "coaches"),
    "api-import-confirm": ("POST", "coaches"),
    "api-import-undo": ("POST", "coaches"),
    "member-history": ("GET", "coaches"),
    "member-page": ("GET POST", "coaches"),
    "compare": ("GET", "any coach"),
    "workout-runs": ("GET", "coaches"),
    "class-edit": ("GET POST", "coaches"),
    "class-screen": ("GET", "class"),
    "class-link": ("GET", "coaches"),
    "class-sheet": ("GET", "coaches"),
    "class-move": ("GET POST", "coaches"),
    "class-delete": ("GET POST", "coaches"),
    "plan-week": ("GET", "any coach"),
    "forecast-record": ("GET", "any coach"),
    "plan-add": ("GET POST", "any coach"),
    "plan-copy": ("GET POST", "any coach"),
    "workout-search": ("GET", "any coach"),
    "workout-repeat": ("GET POST", "coaches"),
    "class-templates": ("GET", "any coach"),
    "template-new": ("GET POST", "any coach"),
    "template-edit": ("GET POST", "coaches"),
    "template-remove": ("GET POST", "coaches"),
    "api-workout-search": ("GET", "any coach"),
    "api-workout-repeat": ("POST", "coaches"),
    "api-week": ("GET", "any coach"),
    "api-week-copy": ("GET POST", "any coach"),
    "api-templates": ("GET POST", "any coach"),
    "api-template": ("GET PUT DELETE", "coaches"),
    "api-class-draft": ("PATCH DELETE", "coaches"),
    "api-class-link": ("GET", "coaches"),
    "estimates": ("GET POST", "any coach"),
    "credits": ("GET POST", "any coach"),
    "credits-history": ("GET", "any coach"),
    "fairness": ("GET POST", "any coach"),
    "credit-change": ("GET POST", "coaches"),
    "credit-change-progress": ("GET", "coaches"),
    "credit-change-class": ("GET", "coaches"),
    "follow-up": ("GET POST", "any coach"),
    "follow-up-words": ("GET POST", "any coach"),
    "follow-up-write": ("GET POST", "coaches"),
    "result": ("GET", "result"),
    "result-opened": ("GET", "result"),
    "result-withdraw": ("POST", "result"),
    "api-me": ("GET PATCH", "members"),
    "api-calendar": ("GET POST DELETE", "members"),
    "api-body": ("GET PUT", "members"),
    "api-leave": ("POST", "members"),
    "api-privacy": ("GET", "members"),
    "api-export": ("GET POST", "signed in"),
    "api-export-file": ("GET", "nobody"),
    "api-erasure": ("GET POST DELETE", "signed in"),
    "api-gym": ("GET PATCH", "owners"),
    "api-history": ("GET", "members"),
    "api-gear": ("GET PUT", "members"),
    "api-progress": ("GET", "members"),
    "api-my-level": ("GET", "members"),
    "api-member-level": ("GET", "coaches"),
    "api-result-after": ("GET", "owner of the result"),
    "api-messages": ("GET PUT", "members"),
    "api-briefing": ("GET", "class"),
    "api-mine": ("GET", "class"),
    "api-members": ("GET POST", "any coach"),
    "api-member": ("PATCH", "coaches"),
    "api-member-seen": ("GET", "coaches"),
    "api-member-notes": ("GET POST", "coaches"),
    "api-note-strike": ("POST", "coaches"),
    "api-compare": ("GET", "any coach"),
    "api-runs": ("GET", "coaches"),
    "api-invitations": ("GET POST", "any coach"),
    "api-invitation": ("DELETE", "coaches"),
    "api-tokens": ("GET POST", "signed in"),
    "api-sign-out-everywhere": ("POST", "signed in"),
    "api-token": ("DELETE", "nobody"),
    "api-workouts": ("GET", "members", "POST", "any coach"),
    "api-workout": ("GET", "workout"),
    "api-workout-preview": ("POST", "any coach"),
    "api-workout-forecast": ("POST", "any coach"),
    "api-forecast-record": ("GET", "any coach"),
    "api-class-forecast": ("GET", "coaches"),
    "api-classes": ("GET", "members", "POST", "any coach"),
    "api-class": ("GET", "class", "PATCH", "coaches"),
    "api-class-open": ("POST", "coaches"),
    "api-class-close": ("POST", "coaches"),
    "api-class-reopen": ("POST", "coaches"),
    "api-attendance": ("GET", "coaches"),
    "api-review": ("GET", "coaches"),
    "api-class-effect": ("GET", "coaches"),
    "api-class-live": ("GET", "coaches"),
    "api-class-lines": ("POST", "coaches"),
    "api-class-questions": ("GET POST", "coaches"),
    "api-try": ("POST", "class"),
    "api-results": ("POST", "class"),
    "api-requests": ("GET POST", "class"),
    "api-answer": ("POST", "coaches"),
    "api-estimate": ("GET", "any coach"),
    "api-estimate-refresh": ("POST", "any coach"),
    "api-credits": ("GET", "any coach"),
    "api-credit-versions": ("GET", "any coach"),
    "api-fairness": ("GET", "any coach"),
    "api-credit-changes": ("GET POST", "any coach"),
    "api-credit-change": ("GET", "coaches"),
    "api-credit-change-classes": ("GET", "coaches"),
    "api-credit-change-moves": ("GET", "coaches"),
    "api-credit-change-accept": ("POST", "coaches"),
    "api-credit-change-anew": ("POST", "coaches"),
    "api-credit-change-go-on": ("POST", "coaches"),
    "api-credit-change-undo": ("POST", "coaches"),
    "api-follow-ups": ("GET", "any coach"),
    "api-follow-ups-away": ("GET", "any coach"),
    "api-follow-up-away": ("DELETE", "coaches"),
    "api-follow-up-words": ("GET", "any coach"),
    "api-follow-up-words-one": ("PUT DELETE", "any coach"),
    "api-follow-up-settings": ("GET PUT", "any coach"),
    "api-follow-up": ("GET POST", "coaches"),
    "api-follow-up-draft": ("GET", "coaches"),
    "api-follow-up-letters": ("POST", "coaches"),
    "api-board": ("GET", "class"),
    "api-board-csv": ("GET", "class"),
    "api-result": ("GET", "result"),
    "api-correct": ("POST", "coaches"),
    "api-withdraw": ("POST", "owner of the result"),
}


ABOUT_BEN = (
    "api-member-level",
    "api-member", "member-history", "follow-up-write", "api-follow-up", "api-follow-up-draft",
    "api-follow-up-letters",
)  # fmt: skip


SIGNS_OUT = {"sign-out-everywhere", "api-sign-out-everywhere"}


def rules():
    """Address, method and whom it is for, one by one."""
    for name, told in TABLE.items():
        for methods, whom in zip(told[::2], told[1::2], strict=True):
            for method in methods.split():
                yield name, method, whom


def methods_of(name):
    """All methods that an address answers to."""
    told = {method for of, method, _ in rules() if of == name}
    told |= {"HEAD"} if "GET" in told else set()
    # The document and its page, health and figures are not of the API's making.
    has_options = name.startswith("api-") and name != "api-docs"
    return told | ({"OPTIONS"} if has_options else set())


def ours(resolver=None, inside=""):
    """Every named address but those of libraries."""
    for pattern in (resolver or get_resolver()).url_patterns:
        if isinstance(pattern, URLResolver):
            route = inside + str(pattern.pattern)
            if not route.startswith(("accounts/", "admin/")):
                yield from ours(pattern, route)
        elif isinstance(pattern, URLPattern) and not str(pattern.pattern).startswith("accounts/"):
            yield pattern


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
