"""A chat of five hundred lines about one class, and what is to become of each of them.

Made by counting, so that it is the same every time. Names and words are invented.
"""

from dataclasses import dataclass

from members.models import Membership

FIRST = [
    "Abel",
    "Bruna",
    "Celso",
    "Dalia",
    "Egon",
    "Farah",
    "Goran",
    "Hanna",
    "Ilja",
    "Jorun",
    "Kemal",
    "Lotte",
    "Milan",
    "Nadja",
    "Otis",
    "Paula",
    "Quentin",
    "Rosa",
    "Sverre",
    "Tilda",
]
LAST = [
    "Achterberg",
    "Bienek",
    "Castellano",
    "Dvorak",
    "Eklund",
    "Ferreira",
    "Grabowski",
    "Hollander",
    "Iversen",
    "Jankovic",
    "Kowalczyk",
    "Lindqvist",
    "Moravec",
    "Nyberg",
    "Oliveira",
    "Petersen",
    "Quiroga",
    "Rasmussen",
    "Sandoval",
    "Thorsen",
]


@dataclass(frozen=True)
class Expected:
    """What a line is to be understood as. ``column`` is where its fault or doubt lies."""

    text: str
    state: str
    name: str = ""
    mark: str = ""
    options: str = ""
    effort: int | None = None
    column: str = ""
    says: str = ""


def fill_gym(gym):
    """Four hundred members, each with a name of their own."""
    return Membership.objects.bulk_create(
        Membership(gym=gym, display_name=f"{first} {last}") for last in LAST for first in FIRST
    )


TUCK, KNEE = "1.2 tuck rock", "2.2 knee push-up"


def _good(i, name):
    rounds, reps = i % 4, i * 7 % 24
    mark = f"{rounds}+{reps}"
    forms = (
        Expected(f"{name}: {mark}", "good", name, mark),
        Expected(f"18:{i % 60:02d} {name.lower()} {rounds} rounds {reps}", "good", name, mark),
        Expected(f"{name} {mark} tuck 🔥", "good", name, mark, TUCK),
        Expected(
            f"[24/11/2026, 18:42] {name}: {mark} tuck, knee push", "good", name, mark,
            f"{TUCK}; {KNEE}",
        ),
        Expected(f"{name.upper()} {rounds} + {reps}, effort 8", "good", name, mark, effort=8),
        Expected(
            f"{name}: {100 + i % 20} reps", "good", name, "", says=f"{100 + i % 20} reps"
        ),
    )  # fmt: skip
    return forms[i % len(forms)]


def _faulty(i):
    some = f"{FIRST[i % 20]} {LAST[i % 20]}"
    forms = (
        Expected(f"Zbyslaw Xu{i} 2+9", "wrong", column="member", says="Nobody here is called"),
        Expected(f"{some}: 2+30", "wrong", some, column="mark", says="Write 3+6"),
        Expected("2+9 tuck", "wrong", column="member", says="doesn't say whose"),
        Expected(f"{FIRST[i % 20]}: 2+9", "doubtful", column="member", says="several people"),
        Expected(f"{some} 2+9, effort 14", "wrong", some, column="effort", says="from 0 to 10"),
        Expected(f"Well done everybody, that was number {i}!", "chatter"),
        Expected("👏👏👏", "chatter"),
    )
    return forms[i % len(forms)]


def chat(count=500):
    """Every third line is no good; each good one is of another member."""
    names = [f"{first} {last}" for last in LAST for first in FIRST]
    lines, used = [], 0
    for i in range(count):
        if i % 3 == 2:
            lines.append(_faulty(i // 3))
        else:
            # From the end, so that faulty lines are of others.
            used += 1
            lines.append(_good(i, names[-used]))
    return lines


def text_of(lines):
    return "\n".join(line.text for line in lines)
