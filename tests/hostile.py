"""Texts that nobody would write by mistake alone: valid ones, cut, doubled and made odd.

Random text is refused at its first letter. A valid text with one part swapped, repeated or
made enormous goes much further in, so most of these begin with one.
"""

import os

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from .conftest import FOR_TIME, TWO_LADDERS

WORKOUTS = (
    TWO_LADDERS,
    FOR_TIME,
    "A tide\ncap 12:00\n\namrap 12:00\n5 pull-up\n10 push-up\n15 air squat\n",
    "Sprints\n\nevery 1:00 for 10 rounds\n8 push press @ 16 kg\nmax burpee\n",
    "Heavy\n\nmax load, 3 reps\nback squat\n",
    "Warm\ncap 30:00\n\nfor quality\n10 air squat\nhold 0:20 plank\n400 m run\n\n"
    "3 rounds, one side per round\n5 single-arm row @ 20/12 kg, per side\n40 m farmer carry, 4 m a rep\n",
    "Cals\ncap 20 min\n\n5 rounds, for time\n12 cal row\n1.5 km run\n9 thruster @ 95/65 lb\n"
    "  or @ 44 lb\n  or goblet squat @ 12 kg, credit 0.8\n\nrest 2:00\n\n21-15-9 reps\nburpee\n",
)
MARKS = ("12:34", "1:02:03.45", "2+9", "2 rounds + 9 reps", "12 rounds", "189 reps", "20 / 18 / 17",
         "82.5 kg", "82,5 kg x 3", "block 2 / 10 / hand-release push-up / 6",
         "block 1 / rung 12 #1 / goblet squat / 3 reps done", "0 reps")  # fmt: skip
OPTIONS = ("tuck rock", "tuck rock; knee push-up: 10", "goblet squat @ 12 kg", "1.2 tuck rock: 10 reps",
           "2.1 single-arm row @ 12 kg: 5; tuck rock", "push press @ 35 lb")  # fmt: skip
SPLITS = ("4:10", "4:10; 9:20", "1: 4:10; 2: 9:20", "0:59.99", "4:10;;9:20")
TOLD = ("ben 2+9 tuck, knee", "Ana Sol: 12 rounds and 3 reps, effort 8", "cleo 189 reps tuck 10, splits 4:10 9:20",
        "[24/11/2026, 18:42] Ben Okoro: 2 + 9 goblet squat 12kg, 8/10", "18:42 - ana: 2+9",
        "ben block 2 / 10 / hand-release push-up / 6", "ana 60", "2+9 cleo wren, knee hurts", "Ben 9:59 rpe 7")  # fmt: skip
CREDITS = ("0.75", "1", "75 %", "0,8", "1.25", "0.0001", "2", "hollow rock", "goblet squat @ 12 kg")
CLOCKS = ("21:00", "7:30", "2026-11-24", "2026-11-24T18:30", "2026-11-24T18:30:00+02:00",
          "2026-W48", "9999-12-31", "0001-01-01T00:00:00+14:00", "-1", "1e3")  # fmt: skip
CHATS = ("\n".join(TOLD), "Ana Sol 18:42\n2+9 tuck\n\nBen Okoro\n18:43\n12 rounds\n")
SHEETS = (
    "name,mark,options,splits,note\nAna Sol,2+9,tuck rock,4:10; 9:20,fine\nBen Okoro,189 reps,,,\n",
    'sep=;\nMember;Result;Scaled;RPE;Comment\n"Ana Sol";"2+9";"tuck rock; knee push-up";8;"said ""ok"""\n',
    "name\tmark\nCleo Wren\t12 rounds\n",
)

ODD = (
    # nothing, controls, line ends
    "", "\0", "\x1b[31m", "\r", "\n", "\r\n", "\t", "\x0b", "\x0c", "\x85", "\u2028", "\u2029", "\x7f",
    # what can't be seen, what turns the direction, what is no character
    "\ufeff", "\u200b", "\u200d", "\u202e", "\u2066", "\u00ad", "\ud800", "\ufffe", "\u0301" * 40,
    # digits and signs of other alphabets
    "٣", "۳", "３", "²", "½", "Ⅷ", "𝟗", "௧", "－", "×", "–", "−", "：", "＠", "ſ", "K", "İ", "ß", "ﬁ", "🦋",
    # numbers that are too much
    "9" * 5_000, "9" * 30, "0" * 300, "1e999999999", "1E-999999999", "-1", "+1", "NaN", "Infinity",
    "0x10", "1_000", "00:00", "99:99", "1/0", "0/0", "9223372036854775808", "2147483648", "1.", ".5",
    # what means something here
    "@", ":", ";", ",", "-", "/", "+", "#", "%", "=", "\"", "'", "(", ")", "[", "{", "\\", " ", "  or ", "or",
    "per side", "alt", "credit", "amrap", "in the time left", "for time", "rounds", "reps", "rest", "x", "max ",
    "kg", "lb", "m", "km", "cal", "s", "min", "h", "hold", "every", "cap 18:00", "block 1 / ", "#2",
    # what means something elsewhere
    "=1+1", "<b>", "{{ 1 }}", "{% if %}", "%s", "%00", "$(x)", "../", "' or 1=1 --", "\\u0000",
    # what grows
    "(" * 60, "[" * 60, "-1" * 90, " " * 190, "a" * 190, "a-" * 90, "1:" * 90, "; " * 90, "/1" * 90, '"' * 61,
)  # fmt: skip

EXAMPLES = int(os.environ.get("FUZZ_EXAMPLES", "4000"))
"""How many inputs all claims about texts are tried with; ``make fuzz`` tries many more."""


def inputs(percent):
    """The settings of a claim that takes a share of them."""
    return settings(
        max_examples=max(20, EXAMPLES * percent // 100),
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )


places = st.integers(0, 10_000)
changes = st.tuples(st.sampled_from(["insert", "replace", "cut", "double", "swap", "repeat", "line", "upper"]),
                    places, places, st.sampled_from(ODD))  # fmt: skip


def change(text: str, how: str, a: int, b: int, odd: str) -> str:
    """One change of a text; places are taken round its length."""
    size = len(text)
    if not size:
        return odd
    first, second = sorted((a % (size + 1), b % (size + 1)))
    second = min(second, first + 40)
    if how == "insert":
        return text[:first] + odd + text[first:]
    if how == "replace":
        return text[:first] + odd + text[second:]
    if how == "cut":
        return text[:first] + text[second:]
    if how == "double":
        return text[:second] + text[first:]
    if how == "repeat":
        return text[:first] + text[first:second] * (2 + b % 20) + text[second:]
    if how == "upper":
        return text[:first] + text[first:second].swapcase() + text[second:]
    lines = text.split("\n")
    i, j = a % len(lines), b % len(lines)
    if how == "line":
        return "\n".join((*lines[:i], *[lines[j]] * (1 + b % 3), *lines[i:]))
    words = text.split(" ")
    i, j = a % len(words), b % len(words)
    words[i], words[j] = words[j], words[i]
    return " ".join(words)


@st.composite
def hostile(draw, valid, most=6):
    """A valid text, changed up to ``most`` times; sometimes words of the trade in any order."""
    kind = draw(st.integers(0, 9))
    if kind == 0:
        return draw(st.text(max_size=60))
    if kind == 1:
        return "".join(draw(st.lists(st.sampled_from((*ODD, *valid)), max_size=12)))
    text = draw(st.sampled_from(valid))
    for how, a, b, odd in draw(st.lists(changes, min_size=kind > 2, max_size=most)):
        text = change(text, how, a, b, odd)
    return text


def picked(random, valid, most=3):
    """The same by a random generator of one's own; one in three is left valid."""
    text = random.choice(valid)
    for _ in range(max(0, random.randint(-1, most))):
        how = random.choice(
            ["insert", "replace", "cut", "double", "swap", "repeat", "line", "upper"]
        )
        text = change(
            text, how, random.randint(0, 9_999), random.randint(0, 9_999), random.choice(ODD)
        )
    return text
