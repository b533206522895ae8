"""The OpenAPI document says of every error what gymsite.errors answers."""

from http import HTTPStatus
from typing import Any

from gymsite.errors import MEDIA_TYPE

PROBLEM = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}


def problems_everywhere(result: dict[str, Any], generator: Any, **_: Any) -> dict[str, Any]:
    """Every error is a problem document of its media type.

    Beside what each operation lists itself, whoever signs in may be no member (403) and
    whoever sends a body may send too much (413).
    """
    for operations in result.get("paths", {}).values():
        for operation in operations.values():
            responses = operation.get("responses", {})
            if "401" in responses:
                responses.setdefault("403", {})
            if "requestBody" in operation:
                responses.setdefault("413", {})
            for code, response in responses.items():
                if code[:1] in "45":
                    response["content"] = PROBLEM
                if not response.get("description"):
                    response["description"] = HTTPStatus(int(code)).phrase
            operation["responses"] = dict(sorted(responses.items()))
    return result
