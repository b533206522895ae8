"""A coach's own words for each reason, with fields that are filled in.

A field is a known word in braces, ``{name}``. Nothing else in braces is kept, so that no
letter ever shows one unfilled.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from .follow_up import Reason

MAX_WORDS = 2000

FIELDS = {
    "name": "the first word of their name",
    "coach": "your name",
    "gym": "the gym's name",
    "class": "the class's workout",
    "result": "what they logged",
    "days": "for how many days",
    "option": "the version they did",
}
_ALWAYS = ("name", "coach", "gym")
_ALSO = {
    Reason.PAIN: ("class",),
    Reason.EFFORT: ("class", "result"),
    Reason.FALLING: ("class", "result"),
    Reason.BACK: ("class", "result", "days"),
    Reason.FIRST: ("class", "result"),
    Reason.MISSED: ("class",),
    Reason.SILENT: ("days",),
    Reason.OPTION: ("class", "result", "option"),
    Reason.BEST: ("class", "result"),
}

_IN_BRACES = re.compile(r"\{([^{}]*)\}")


def fields_of(reason: Reason) -> tuple[str, ...]:
    """The fields that can be filled in for a reason."""
    return _ALWAYS + _ALSO[reason]


def known_fields(reason: Reason) -> str:
    """The same as a coach writes them: ``{name}, {coach}, …``."""
    return ", ".join(f"{{{name}}}" for name in fields_of(reason))


def problem_of(text: str, reason: Reason) -> str:
    """Why a text can't be kept for a reason; empty when it can."""
    if not text.strip():
        return "Some words are needed."
    if len(text) > MAX_WORDS:
        return f"At most {MAX_WORDS} letters."
    for name in _IN_BRACES.findall(text):
        if name not in fields_of(reason):
            return f"“{{{name[:40]}}}” can't be filled in here."
    if re.search(r"[{}]", _IN_BRACES.sub("", text)):
        return "A brace has no other half."
    return ""


def fill(text: str, values: Mapping[str, str]) -> str:
    """The text with its fields filled in, once: braces in a value stay what they are.

    A field without a value stands for itself, for the coach to see before sending.
    """
    return _IN_BRACES.sub(lambda found: values.get(found[1], found[0]), text)


DEFAULTS = {
    Reason.PAIN: (
        "Hello {name},\n\n"
        "after {class} you noted that something hurts. How is it today?\n\n"
        "Please rest it for now. What it is, and when to load it again, is for a doctor or a "
        "physiotherapist to say, not for me. Until then we leave it out.\n\n"
        "{coach}"
    ),
    Reason.EFFORT: (
        "Hello {name},\n\n"
        "you called {class} a 10. How do you feel now?\n\n"
        "That is as hard as it gets, and it need not be. Take an easy day, and next time stop "
        "while you could still say a sentence. If anything feels wrong, ask a doctor first.\n\n"
        "{coach}"
    ),
    Reason.FALLING: (
        "Hello {name},\n\n"
        "the last classes look as if they cost you more than usual. It may be chance. How are "
        "you: sleep, work, anything that hurts?\n\n"
        "An easier week is always fine.\n\n"
        "{coach}"
    ),
    Reason.BACK: (
        "Hello {name},\n\n"
        "good to see you at {class} after {days} days. Take the next two classes easily; the "
        "easier versions are there for that.\n\n"
        "{coach}"
    ),
    Reason.FIRST: (
        "Hello {name},\n\n"
        "welcome, and well done for logging {class}. How was it? Was anything unclear, or too "
        "much?\n\n"
        "{coach}"
    ),
    Reason.MISSED: (
        "Hello {name},\n\n"
        "I did not see a result of yours for {class}. If you did it, log it when you have a "
        "minute; if not, I hope all is well.\n\n"
        "{coach}"
    ),
    Reason.SILENT: (
        "Hello {name},\n\n"
        "we have not seen you for {days} days. Is all well? There is no hurry; come back when "
        "it suits you, and start easily.\n\n"
        "{coach}"
    ),
    Reason.OPTION: (
        "Hello {name},\n\n"
        "{option} looks easy for you by now. If nothing hurts and you like to, you could try a "
        "few reps as written next time, slowly, and go back whenever you want. Ask me first if "
        "you are not sure.\n\n"
        "{coach}"
    ),
    Reason.BEST: (
        "Hello {name},\n\n{result} in {class} is your best so far. Well done.\n\n{coach}"
    ),
}
