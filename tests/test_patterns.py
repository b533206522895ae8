"""No regular expression explodes: each that repeats without end has been looked at.

A pattern without an unbounded repeat takes a bounded number of steps at every place. One with
some is linear only if its parts can't share a text, or if what it is given is short; which of
both holds stands here. A new one fails until it has a line.
"""

import hashlib
import re
import re._parser as parser

import pytest

from gymsite.backups.manifest import NAME
from scoring.core.notation_help import _SLIPS
from scoring.services.follow_up import _FIELD

from .patterns import everywhere

# Where a pattern is put together when the program runs: what it then is.
NOT_WRITTEN_OUT = {
    "scoring/core/notation_help.py": [pattern for _, pattern, _, _ in _SLIPS],
    "scoring/services/follow_up.py": [_FIELD.pattern],
    "gymsite/backups/manifest.py": [NAME.pattern],
}

APART = "what repeats ends where the next part begins: no letter fits both"
ONE_START = "from the beginning of a run only, and has one way to be read"
SPACES = "the text comes with single spaces, so \\s* is at most one letter"
SHORT = "a board's line is at most 200 letters, and is refused before if it is longer"
# By file: its endless patterns, as a fingerprint, and why they are well. Who changes one looks
# at it and puts the new fingerprint here.
LOOKED_AT = {
    "gymsite/backups/manifest.py": ("65a1570aea", "a folder's name, read once: 255 letters"),
    "gymsite/backups/postgresql.py": (
        "9b17dc3540",
        APART + "; what its programs say, line by line",
    ),
    "gymsite/logs.py": ("1ed02600a6", APART + "; an address is tried " + ONE_START),
    "scoring/core/board_edit.py": ("82b545cf16", APART),
    "scoring/core/credit_use.py": ("327a277466", "texts of our own making, by choices_text"),
    "scoring/core/credits.py": ("e619ccb481", SPACES + "; options have 2,000 letters"),
    "scoring/core/follow_up_words.py": ("19aaf85dca", APART),
    "scoring/core/marks.py": ("4e1d83adbe", SPACES + "; a mark has 200 letters"),
    "scoring/core/names.py": (
        "f4a2f060e0",
        "words are apart by a space; a name has at most 80 letters",
    ),
    "scoring/core/notation.py": ("e3f11abb52", SHORT),
    "scoring/core/notation_help.py": ("a02b6bebaf", SHORT),
    "scoring/core/notation.lark": ("818f39a0d6", SHORT),
    "scoring/core/told_line.py": ("e292816fe0", SPACES + "; a line has 300 letters"),
    "scoring/core/told_options.py": ("d00ce409c2", APART + "; a line has 300 letters"),
    "scoring/services/credit_entries.py": (
        "25011bc146",
        "the first @ that fits is looked for once",
    ),
    "scoring/services/own_data.py": ("33696f62e6", "each word is taken whole, once"),
}


def repeats(parsed):
    """How deep repeats without an end lie in each other, one number for each of them."""
    found = []
    for op, given in parsed:
        name = str(op)
        if name in ("MAX_REPEAT", "MIN_REPEAT", "POSSESSIVE_REPEAT"):
            inside = repeats(given[2])
            is_endless = given[1] == parser.MAXREPEAT
            found += [1 + max(inside, default=0)] if is_endless else inside
        elif name in ("SUBPATTERN", "ASSERT", "ASSERT_NOT"):
            found += repeats(given[-1])
        elif name == "BRANCH":
            for branch in given[1]:
                found += repeats(branch)
        elif name == "ATOMIC_GROUP":
            found += repeats(given)
    return found


def found():
    """(where, pattern) of all, those that are put together when the program runs included."""
    for where, pattern in everywhere():
        if pattern is not None:
            yield where, pattern
        else:
            yield from ((where, made) for made in NOT_WRITTEN_OUT[where])


def test_every_pattern_is_found():
    assert len(list(found())) > 100
    assert {where for where, pattern in everywhere() if pattern is None} == set(NOT_WRITTEN_OUT)


def fingerprint(patterns):
    return hashlib.sha256("\n".join(sorted(patterns)).encode()).hexdigest()[:10]


def test_every_pattern_that_repeats_without_end_has_been_looked_at():
    endless = {}
    for where, pattern in found():
        if repeats(parser.parse(pattern)):
            endless.setdefault(where, []).append(pattern)
    now = {where: fingerprint(patterns) for where, patterns in endless.items()}
    assert now == {where: known for where, (known, _) in LOOKED_AT.items()}


# A repeat within a repeat can be read in exponentially many ways, if both can take the same.
NESTED = {
    "scoring/core/names.py": "each word but the first begins with a space, and has none in it",
    "scoring/core/notation_help.py": "separators and digits take turns",
    "scoring/core/notation.lark": "hyphens and digits take turns",
    "scoring/core/told_options.py": "separators and clocks take turns",
}


def test_a_repeat_within_a_repeat_has_a_reason():
    nested = {
        where for where, pattern in found() if max(repeats(parser.parse(pattern)), default=0) > 1
    }
    assert nested == set(NESTED)


@pytest.mark.parametrize(
    "pattern", ["(a+)+b", "(?:a|b)*", "x{2,}", ".*", "(?=a*)", "(?:a{1,9}b+)?"]
)
def test_such_patterns_are_seen(pattern):
    assert repeats(parser.parse(pattern))


def test_bounded_ones_are_not():
    assert not repeats(parser.parse(r"\d{1,7}(?:a|b)?[x-z]{3}"))
    assert re.compile(r"\d{1,7}(?:a|b)?[x-z]{3}")
