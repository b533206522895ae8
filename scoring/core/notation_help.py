"""What to tell a coach about a line of a board that can't be read.

The usual slips each have their own sentence; for the rest the place is shown from which
on the line is not understood, with what would be.
"""

from __future__ import annotations

import re
from difflib import get_close_matches

from lark import UnexpectedInput

HEADERS = (
    "Write a rep scheme (18-12-6), 5 rounds, for time, amrap 12:00, amrap in the time left, "
    "every 1:00 for 10 rounds, rest 2:00, or max load, 3 reps."
)
LINE = "Write count, movement, load, and what else is true of it: 10 push press @ 16 kg."
OPTION = "Write or tuck rock, credit 0.75 with a movement, a load, or both."
CAP = "Write the time the clock stops at: cap 18:00."
WHOLE = "The first line is the title; then the cap; a blank line ends each block."

USUAL = {"header": HEADERS, "movement": LINE, "option": OPTION, "head_cap": CAP}
_WHAT = {
    "header": "the start of a block",
    "movement": "a movement line",
    "option": "an option",
    "head_cap": "a cap",
}
_STARTS = ("rounds", "for time", "amrap", "amrap in the time left", "every", "rest", "max load")

_SLIPS: tuple[tuple[str, str, str, str], ...] = (
    # rule, pattern, problem, what would be right
    ("movement", r".*#", "A remark stands on a line of its own.", "Begin a remark's line with #."),
    ("movement", r"\d+ ?x ?\d+ ", "Sets are not written on a movement line.",
     "Write the sets as rounds above it: 3 rounds, then 10 push-up."),
    ("movement", r".*(?:^|\W)or ", "An option has a line of its own.",
     "Write it below, indented: or ring row, credit 0.75."),
    ("movement", r".*\bcredit\b", "Only an option has a credit.",
     "Put it on an indented line below: or ring row, credit 0.75."),
    ("movement", r"[^@]*\d ?(?:kg|kilo|lb|pound)", "A load stands behind the sign @.",
     "Write it as @ 60 kg."),
    ("movement", r".*@ ?[\d./]+ ?$|.*@ ?[\d./]+ ?,", "The load has no unit.",
     "Write kg or lb: @ 20 kg."),
    ("movement", r".*@ ?\d+ ?x ?\d", "A load is one amount or two.",
     "Write the load of one: @ 12 kg, or @ 20/12 kg for two standards."),
    ("movement", r".*@", "The load can't be read.", "Write @ 20 kg, @ 44 lb or @ 20/12 kg."),
    ("movement", r"hold$|hold [\d:]+ ?\w*$", "It doesn't say what is held.",
     "Write hold 0:20 plank."),
    ("movement", r"hold ", "A hold needs a time.", "Write hold 0:20 plank."),
    ("movement", r"[\d:.]+(?: ?[a-z]{1,8})?$", "It doesn't say which movement.",
     "Write count and movement: 10 push-up."),
    ("option", r"or \d", "An option has no count of its own; it is the line's above.",
     "Write or tuck rock, credit 0.75."),
    ("option", r"or .* or ", "Each option has a line of its own.",
     "Write or tuck rock, and below it the next."),
    ("option", r".*[ (,]\d*\.\d+\)?$|.*\d ?%$", "It doesn't say what the number is.",
     "Write credit before it: or tuck rock, credit 0.75."),
    ("option", r".*\b(?:per|each) |.*\balt", "The sides are the line's above.",
     "Leave them out: or tuck rock, credit 0.75."),
    ("option", r".*@", "The load can't be read.", "Write or @ 12 kg, credit 0.8."),
    ("header", r".*\bcap\b", "The cap stands on a line of its own, under the title.",
     "Write cap 14:00 there."),
    ("header", r"amrap$", "This AMRAP doesn't say how long it is.",
     "Write amrap 12:00, or amrap in the time left."),
    ("header", r"max load$", "The strength piece doesn't say how many reps.",
     "Write max load, 3 reps."),
    ("header", r"rest \d+$|rest$", "The rest doesn't say how long it is.",
     "Write rest 2:00, rest 2 min or rest 90 s."),
    ("header", r"every\b", "Intervals say how long one is and how many there are.",
     "Write every 1:00 for 10 rounds."),
    ("header", r"\d+-.*(?:…|\.\.)", "A rep scheme is written out.", "Write 10-9-8-7-6-5-4-3-2-1."),
)  # fmt: skip


def diagnose(rule: str, line: str, error: Exception | str) -> tuple[str, str]:
    """What is wrong with a folded line that ``rule`` doesn't read, and what would be right.

    ``error`` is the grammar's own, or a sentence for when there is no better one.
    """
    if rule == "header" and re.fullmatch(r"\d+(?:[ /,;.]+\d+)+", line):
        scheme = "-".join(re.findall(r"\d+", line))
        return "The counts of a rep scheme are joined by hyphens.", f"Write {scheme}."
    typo = re.fullmatch(r".*[ ,](\w+) (\d*\.?\d+)", line) if rule == "option" else None
    if typo and get_close_matches(typo[1], ["credit"], 1, 0.7):
        return f"{typo[1]!r} is not a word here.", f"Did you mean credit {typo[2]}?"
    for of_rule, pattern, problem, right in _SLIPS:
        if of_rule == rule and re.match(pattern, line):
            return problem, right
    suggestion = USUAL[rule]
    if rule == "header":
        close = get_close_matches(re.sub(r"[^a-z ]", "", line).strip(), _STARTS, 1, 0.7)
        suggestion = (f"Did you mean {close[0]}? " if close else "") + suggestion
    if isinstance(error, str):
        return error, suggestion
    place = error.pos_in_stream if isinstance(error, UnexpectedInput) else None
    rest = line[place:].strip(" ,") if place else ""
    start = f", from {rest!r} on" if rest else ""
    return f"This is not {_WHAT[rule]}{start}.", suggestion
