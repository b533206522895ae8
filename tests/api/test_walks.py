"""Walks over the whole API along the links of its document, with hostile bodies.

Each walk is in a gym of its own that is undone. Whoever walks gets answers of the document
only: no server error, no status it doesn't list, and every error a problem document.
``make fuzz`` takes as many walks as one likes.
"""

import logging
import os

import pytest
from hypothesis import HealthCheck, Phase, settings

from gymsite.docs import document

from .driving import driven, machine
from .test_schema import one_connection

__all__ = ["one_connection"]

WALKS = int(os.environ.get("FUZZ_WALKS", "8"))
STEPS = 20


def operations():
    for path, of_path in document()["paths"].items():
        for method, operation in of_path.items():
            yield path, method, operation


def shape_at(schema, where, shapes):
    """The schema of what a JSON pointer names, as a body has it."""
    for part in where.split("/")[1:]:
        while "$ref" in schema:
            schema = shapes[schema["$ref"].rsplit("/", 1)[1]]
        schema = schema["items"] if part.isdigit() else schema["properties"][part]
    return schema


def test_every_link_leads_from_what_is_there_to_what_is_there():
    told = document()
    shapes = told["components"]["schemas"]
    known = {o["operationId"]: (path, o) for path, _, o in operations()}
    count = 0
    for path, _, operation in operations():
        for answer in operation["responses"].values():
            for target, link in answer.get("links", {}).items():
                count += 1
                there, wanted = known[link["operationId"]]
                names = {p["name"] for p in wanted["parameters"] if p["in"] == "path"}
                assert set(link["parameters"]) == names, (path, target, there)
                schema = answer["content"]["application/json"]["schema"]
                for value in link["parameters"].values():
                    if value.startswith("$request.path."):
                        assert "{" + value.rsplit(".", 1)[1] + "}" in path
                    else:
                        found = shape_at(schema, value.removeprefix("$response.body#"), shapes)
                        assert found["type"] in ("integer", "string"), (path, target)
    assert count > 200


@pytest.mark.parametrize("who", ["owner", "coach", "ana", "foreign_coach", None])
def test_walks_meet_only_answers_of_the_document(db, one_connection, who):
    walk = machine(driven(document()), who)
    logging.disable(logging.CRITICAL)
    try:
        walk.run(
            settings=settings(
                max_examples=WALKS, stateful_step_count=STEPS, deadline=None, database=None,
                derandomize=WALKS < 50, phases=[Phase.generate],
                suppress_health_check=list(HealthCheck),
            )
        )  # fmt: skip
    finally:
        logging.disable(logging.NOTSET)
    assert set(walk.met), "nobody walked"
    codes = {code for _, code in walk.met}
    assert codes & ({401} if who is None else {200, 201})
