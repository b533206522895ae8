"""Which words can name a movement on a board's line, and text without what nobody sees."""

from __future__ import annotations

import re
import unicodedata

_FIRST = """
    amrap cal cals calorie calories cap emom every for hold hour hours km m max meter meters metre
    metres min mins minute minutes of rep reps rest round rounds s sec second seconds secs time
"""
RESERVED_FIRST = frozenset(_FIRST.split())
"""Words that say something else at the start of a board's line, so no name begins with them."""

_ANYWHERE = "alt alternate alternating credit each kg kgs lb lbs or per x"
RESERVED = frozenset(_ANYWHERE.split())
"""Words that say something else anywhere on a movement line."""

FOLDED = str.maketrans(
    {"×": "x", "–": "-", "—": "-", "‐": "-", "‑": "-", "−": "-", "’": "'", "‘": "'", "`": "'"}
)
"""Signs that mean the same on a board; names are written with the plain ones."""

_WORD = r"(?:[^\W\d_][^\s@,;:#=%]*|\d+-[^\W\d_][^\s@,;:#=%]*|\([^\W\d_][^\s@,;:#=%]*|[&+])"
_NAME = re.compile(rf"(?![&+(])(?:\d+/\d+ )?{_WORD}(?: {_WORD})*")


def plain(text: str) -> str:
    """One line of text without what nobody sees: controls, odd spaces, stray marks.

    The joiners that some scripts and signs need are kept inside the text.
    """
    if not text.isascii() or not text.isprintable():
        text = "".join(
            "\ufffd" if unicodedata.category(c) == "Cs" else c
            for c in unicodedata.normalize("NFC", text)
            if c.isspace() or c in "\u200c\u200d" or unicodedata.category(c) not in ("Cc", "Cf")
        )
        text = unicodedata.normalize("NFC", text)
    return " ".join(text.split()).strip("\u200c\u200d ")


def name_problem(name: str) -> str:
    """Why ``name`` cannot name a movement on a board's line; empty when it can."""
    if not name or len(name) > 80 or name != plain(name).lower() or name != name.translate(FOLDED):
        return "A movement's name is 1 to 80 characters, lower case, with single spaces."
    if not _NAME.fullmatch(name):
        return f"{name!r} is no name for a movement: write words, without @ , ; or loose numbers."
    words = name.split()
    for position, word in enumerate(words):
        if word.strip("()") in RESERVED or (position == 0 and word in RESERVED_FIRST):
            return f"{word!r} cannot stand there in a movement's name: leave it out."
    return ""
