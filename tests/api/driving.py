"""Driving the whole API by its own document: who calls, with what, and what is looked at."""

import json
from collections import Counter
from copy import deepcopy
from random import Random

import schemathesis
from django.db import connection, transaction
from knox.models import get_token_model
from schemathesis.checks import load_all_checks

from gymsite.wsgi import application

from .. import hostile
from ..addresses import with_keys
from ..conftest import make_people
from ..scoring.classes import log, make_class

CHECKS = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
    "unsupported_method",
)
# What is put into a field of a body now and then, since random text is refused at once.
FIELDS = {
    "text": hostile.WORKOUTS,
    "mark": hostile.MARKS,
    "options": hostile.OPTIONS,
    "line": hostile.TOLD,
    "credit": hostile.CREDITS,
    "starts_at": ("2026-12-01T18:30:00Z", "2026-12-02T07:00:00+02:00", *hostile.CLOCKS),
    "closes_at": ("2026-12-03T18:30:00Z", *hostile.CLOCKS),
    "movement": ("hollow rock", "hand-release push-up", "burpee"),
    "option": ("tuck rock", "knee push-up", "goblet squat @ 12 kg"),
    "name": ("Nia Low", "nia@example.org"),
}
CHATS = (*hostile.CHATS, *hostile.SHEETS)


def checks():
    load_all_checks()
    found = [check for check in schemathesis.checks.CHECKS.get_all() if check.__name__ in CHECKS]
    assert len(found) == len(CHECKS)
    return found


def headers_of(member):
    """What a caller sends with everything; nothing for a stranger."""
    headers = {"Accept-Encoding": "identity"}
    if member is not None:
        _, token = get_token_model().objects.create(user=member.user)
        headers["Authorization"] = f"Token {token}"
    return headers


def sharpen(case, scene):
    """Name what is there, and put texts of the trade where a body asks for some, as the case's
    own content decides: a key nobody has and random text are refused at once."""
    told = [case.path_parameters, case.query, case.body]
    random = Random(json.dumps(told, sort_keys=True, default=str) + case.path)
    keys = case.path_parameters or {}
    known = known_key(case.path, scene, random)
    if "id" in keys and known and not exists(keys["id"]) and random.random() < 0.7:
        keys["id"] = known
    key = (case.headers or {}).get("Idempotency-Key")
    if key and random.random() < 0.5:
        case.headers["Idempotency-Key"] = f"key-{random.randint(1, 3)}"
    if not isinstance(case.body, dict) or not case.body:
        return
    for field in list(case.body):
        valid = CHATS if "imports" in case.path and field == "text" else FIELDS.get(field)
        if valid and isinstance(case.body[field], str) and random.random() < 0.8:
            case.body[field] = hostile.picked(random, valid)
    if "splits" in case.body and random.random() < 0.5:
        case.body["splits"] = {str(random.randint(0, 4)): hostile.picked(random, hostile.SPLITS)}
    if "text" in case.body and "workout" in case.body and random.random() < 0.8:
        case.body.pop(random.choice(("text", "workout")))


def exists(key):
    """Whether a key looks like one that a link gave: rows of a test are few."""
    return str(key).isdigit() and len(str(key)) < 4


def machine(schema, who):
    """The state machine of the document's links, each walk in a gym of its own that is undone.

    What is left to tasks after a commit is done after each call, as a committed request would.
    """
    looked_at = checks()

    class Walk(schema.as_state_machine()):
        met = Counter()

        def setup(self):
            self.undo = transaction.atomic()
            self.undo.__enter__()
            people = make_people()
            streamed = make_class(people)
            result = log(streamed, people.ana, "2+9", "tuck rock").result
            self.scene = with_keys(people, streamed, result)
            self.headers = headers_of(getattr(people, who) if who else None)

        def before_call(self, case):
            sharpen(case, self.scene)

        def get_call_kwargs(self, case):
            return {"headers": self.headers}

        def after_call(self, response, case):
            super().after_call(response, case)
            self.met[case.operation.label, response.status_code] += 1
            left, connection.run_on_commit = connection.run_on_commit, []
            for _, act, _robust in left:
                act()

        def validate_response(self, response, case, **_):
            case.validate_response(response, checks=looked_at)

        def teardown(self):
            transaction.set_rollback(True)
            self.undo.__exit__(None, None, None)

    return Walk


def known_key(path, scene, random):
    """The key of something that is there, for an address that names one."""
    people = scene["people"]
    found = {
        "/classes/": scene["class"].pk,
        "/results/": scene["result"].pk,
        "/members/": random.choice(people.members).pk,
        "/workouts/": scene["class"].workout_id,
        "/requests/": scene["request"].pk,
        "/templates/": scene["template"].pk,
        "/credits/changes/": scene["credits"].pk,
        "/away/": scene["away"].pk,
        "/imports/": scene["import"].pk,
        "/notes/": scene["note"].pk,
    }
    return next((pk for part, pk in found.items() if part + "{" in path), None)


def driven(document):
    # A copy: it is changed as it is driven.
    schema = schemathesis.openapi.from_dict(deepcopy(document))
    schema.app = application
    return schema
