"""Who can see what of a member, in plain words. ``access.py`` decides; this tells.

A test asks the gates themselves for every line, so that none can say what isn't so.
"""

from __future__ import annotations

from dataclasses import dataclass

from members.models import Membership, ShownAs


@dataclass(frozen=True, slots=True)
class Line:
    """``what`` of a member is seen, by ``classmates`` (members of the gym) and ``coaches``
    (owners too). Somebody outside the gym sees nothing of all."""

    key: str
    what: str
    classmates: bool
    coaches: bool
    more: str = ""
    is_shown: bool = True
    """Whether they themselves see it on a page, not only in the copy of their data."""

    @property
    def who(self) -> str:
        if self.classmates:
            return "Your class-mates and your coaches"
        if not self.is_shown:
            return "Your coaches, and you in the copy of your data"
        return "You and your coaches" if self.coaches else "You alone"


_NAMED = {
    ShownAs.NAME: "On boards class-mates see it in full.",
    ShownAs.INITIALS: "On boards class-mates see your initials, not your name.",
    ShownAs.UNNAMED: "On boards class-mates see “a member” in its place.",
}


def who_sees(member: Membership) -> list[Line]:
    """Every kind of thing kept of a member, and who sees it as they have it set now."""
    shown_as = ShownAs(member.shown_as)
    is_unnamed = shown_as is ShownAs.UNNAMED
    lines = [
        Line("name", "Your name", shown_as is ShownAs.NAME, True, _NAMED[shown_as]),
        Line(
            "result",
            "Your mark and your place on a board",
            True,
            True,
            "Also without a name you are counted, so that the places of all are right.",
        ),
        Line(
            "opened",
            "Your result opened up: options, every set",
            not is_unnamed,
            True,
            "Without a name it can't be opened by class-mates." if is_unnamed else "",
        ),
        Line("note", "Your notes to the coach", False, True),
        Line("effort", "How hard it was for you", False, True),
        Line("corrections", "Corrections of your results, and why", False, True),
        Line("history", "Your history and progress", False, True),
        Line(
            "level",
            "Your level: how fast you are beside the others, worked out from all results",
            False,
            True,
            "It is no medical statement and counts on no board.",
        ),
        Line("pain", "What you said hurts", False, True),
        Line(
            "follow_up",
            "Whether a coach had a word with you, when and why",
            False,
            True,
            "The copy of your data has it. The words are deleted once they are sent.",
        ),
        Line("requests", "What you asked your coach to change", False, True),
        Line(
            "coach_notes",
            "Notes a coach wrote down about you",
            False,
            True,
            "They stand in the copy of your data, which you can ask for below.",
            is_shown=False,
        ),
        Line(
            "brought_in",
            "Lines of a chat or a file that a coach brought in",
            False,
            True,
            "Their words are deleted after 30 days. The copy of your data has them until then.",
            is_shown=False,
        ),
        Line(
            "deeds",
            "What was done about you: roles, corrections, entries, and why",
            False,
            True,
            "It stays on record. The copy of your data has it.",
            is_shown=False,
        ),
        Line("gear", "Your gear and usual options", False, True, "They plan classes with it."),
        Line("year_of_birth", "Your year of birth", False, False),
        Line("weight", "Your body weight", False, False),
        Line("email", "Your e-mail address", False, False, "It is how you sign in."),
    ]
    if member.is_coach:
        lines.append(
            Line(
                "coaching",
                "Your name on classes you give and corrections you make",
                True,
                True,
                "Whatever you chose for boards.",
            )
        )
    return lines
