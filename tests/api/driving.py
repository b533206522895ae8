"""Driving the whole API by its own document: who calls, with what, and what is looked at."""

import json
from random import Random

import schemathesis
from django.db import connection, transaction
from knox.models import get_token_model
from schemathesis.checks import load_all_checks

from gymsite.wsgi import application

from .. import hostile
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


def sharpen(case):
    """Put texts of the trade where a body asks for some, as its own content decides."""
    if not isinstance(case.body, dict) or not case.body:
        return
    random = Random(json.dumps(case.body, sort_keys=True, default=str) + case.path)
    for field in list(case.body):
        valid = CHATS if "imports" in case.path and field == "text" else FIELDS.get(field)
        if valid and isinstance(case.body[field], str) and random.random() < 0.8:
            case.body[field] = hostile.picked(random, valid)
    if "splits" in case.body and random.random() < 0.5:
        case.body["splits"] = {str(random.randint(0, 4)): hostile.picked(random, hostile.SPLITS)}
    if "text" in case.body and "workout" in case.body and random.random() < 0.8:
        case.body.pop(random.choice(("text", "workout")))
    key = (case.headers or {}).get("Idempotency-Key")
    if key and random.random() < 0.5:
        case.headers["Idempotency-Key"] = f"key-{random.randint(1, 3)}"


def machine(schema, who):
    """The state machine of the document's links, each walk in a gym of its own that is undone.

    What is left to tasks after a commit is done after each call, as a committed request would.
    """
    looked_at = checks()

    class Walk(schema.as_state_machine()):
        def setup(self):
            self.undo = transaction.atomic()
            self.undo.__enter__()
            people = make_people()
            log(make_class(people), people.ana, "2+9", "tuck rock")
            make_class(people, is_open=False)
            self.headers = headers_of(getattr(people, who) if who else None)

        def before_call(self, case):
            sharpen(case)

        def get_call_kwargs(self, case):
            return {"headers": self.headers}

        def after_call(self, response, case):
            super().after_call(response, case)
            left, connection.run_on_commit = connection.run_on_commit, []
            for _, act, robust in left:
                act()

        def validate_response(self, response, case, **_):
            case.validate_response(response, checks=looked_at)

        def teardown(self):
            transaction.set_rollback(True)
            self.undo.__exit__(None, None, None)

    return Walk


def driven(document):
    schema = schemathesis.openapi.from_dict(document)
    schema.app = application
    return schema
