"""What an answer leads to: OpenAPI links from what was made or read to what is done with it.

A class that was made leads to its board, its results and whatever else stands below
``/classes/{id}/``. A page of a list leads to its first row, a row to what it belongs to.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

API = "/api/v1/"
METHODS = ("get", "post", "put", "patch", "delete")

# Which address a thing has, by the name of its shape. Its ``id`` goes into the address.
THINGS = {
    "ClassShape": "classes/{id}/",
    "ClassDetail": "classes/{id}/",
    "WorkoutShape": "workouts/{id}/",
    "ResultShape": "results/{id}/",
    "LoggedShape": "results/{id}/",
    "RequestShape": "requests/{id}/",
    "ImportShape": "imports/{id}/",
    "TemplateShape": "templates/{id}/",
    "CreditChangeShape": "credits/changes/{id}/",
    "InvitationShape": "invitations/{id}/",
    "NewInvitationShape": "invitations/{id}/",
    "MemberShape": "members/{id}/",
    "NoteShape": "notes/{id}/",
    "AwayShape": "follow-ups/away/{id}/",
    "TokenShape": "tokens/{key}/",
    "NewTokenShape": "tokens/{key}/",
}

# What else of a shape names something, and the operations that it leads to.
NAMED = {
    ("ClassDetail", "workout"): ("workout", "workout_repeat", "workout_runs"),
    ("ClassShape", "workout"): ("workout",),
    ("ResultShape", "class"): ("class", "board"),
    ("LoggedShape", "class"): ("class", "board"),
    ("RequestShape", "class"): ("class",),
    ("ImportShape", "class"): ("class",),
    ("AwayShape", "member"): ("follow_up_member",),
    ("ToldLineShape", "result"): ("result", "result_withdraw"),
    ("ImportLineShape", "result"): ("result",),
}

# Rows that are named within the thing whose list was asked for.
WITHIN = {
    "import_lines": ("import_line_change", {"number": "number"}),
    "credit_change_classes": ("credit_change_moves", {"class_pk": "class"}),
}


def links(result: dict[str, Any], generator: Any, **_: Any) -> dict[str, Any]:
    """Put the links of every operation into the document."""
    paths: dict[str, dict[str, Any]] = result.get("paths", {})
    shapes: dict[str, Any] = result.get("components", {}).get("schemas", {})
    known: dict[str, tuple[str, str, dict[str, Any]]] = {
        operation["operationId"]: (path, method, operation)
        for path, operations in paths.items()
        for method, operation in operations.items()
        if method in METHODS
    }
    for name, told in known.items():
        for code, answer in told[2]["responses"].items():
            found = dict(_from_answer(name, answer, code, known, shapes))
            found.pop(name, None)
            if found and code.startswith("2"):
                answer["links"] = found
    return result


def _from_answer(
    name: str,
    answer: dict[str, Any],
    code: str,
    known: dict[str, tuple[str, str, dict[str, Any]]],
    shapes: dict[str, Any],
) -> Iterator[tuple[str, dict[str, Any]]]:
    schema = answer.get("content", {}).get("application/json", {}).get("schema", {})
    shape, where = _shape(schema, shapes)
    if shape is None:
        return
    for (of_shape, field), targets in NAMED.items():
        if of_shape == shape:
            for target in targets:
                yield target, _link(target, {"id": f"$response.body#{where}/{field}"})
    if name in WITHIN:
        target, fields = WITHIN[name]
        rows = {key: f"$response.body#{where}/{field}" for key, field in fields.items()}
        yield target, _link(target, {"id": "$request.path.id", **rows})
    # What changes a thing answers with it too, and says nothing new of it.
    if shape not in THINGS or not (code in ("201", "202") or known[name][1] == "get"):
        return
    address = API + THINGS[shape]
    key = address.rsplit("{", 1)[1].rstrip("/}")
    below = [target for target, (path, _, _) in known.items() if path.startswith(address)]
    if where:
        # A row leads to the thing, or where that can't be read to what is done with it.
        below = [t for t in below if known[t][:2] == (address, "get")] or below
    for target in below:
        if known[target][0].count("{") == 1:
            yield target, _link(target, {key: f"$response.body#{where}/id"})


def _shape(schema: dict[str, Any], shapes: dict[str, Any]) -> tuple[str | None, str]:
    """The shape of an answer, or of the first row of its list, and where that stands."""
    if schema.get("type") == "array":
        return _name(schema["items"]), "/0"
    name = _name(schema)
    if name is None or not name.endswith("Page"):
        return name, ""
    return _name(shapes[name]["properties"]["results"]["items"]), "/results/0"


def _name(schema: dict[str, Any]) -> str | None:
    reference: str = schema.get("$ref", "")
    return reference.rsplit("/", 1)[1] if reference else None


def _link(target: str, parameters: dict[str, str]) -> dict[str, Any]:
    return {"operationId": target, "parameters": parameters}
