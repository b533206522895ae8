"""From a checked body to what the services take."""

from __future__ import annotations

from typing import Any

from scoring.services.submitting import ChoiceInput, ResultInput


def result_input(sent: dict[str, Any]) -> ResultInput:
    """What a body of ``ResultIn`` or more reports."""
    return ResultInput(
        mark=sent["mark"],
        choices=tuple(ChoiceInput(c["line"], c["option"], c["reps"]) for c in sent["choices"]),
        options=sent["options"],
        splits=dict(sent["splits"]),
        note=sent["note"],
        effort=sent["effort"],
        unbroken=dict(sent["unbroken"]),
    )
