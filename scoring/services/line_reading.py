"""What a line such as ``ana 2+9 tuck, knee`` comes to in a class; nothing is kept here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from members.models import Membership
from members.selectors import members_of
from scoring import access
from scoring.core.oddities import too_fast
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import Score as CoreScore
from scoring.core.told_line import Reading, read_line
from scoring.core.told_options import Doubt
from scoring.mapping import course_of, rules_of
from scoring.models import Fact, Result, StreamedClass
from scoring.problems import Item, Refused, refuse

from .reading import ResultInput, read_result, texts_of
from .what_stays import with_what_stays

IT_IS_RIGHT = "it is right"
KEPT = ("mark", "options", "splits")

AskFirst = Callable[[int | None, CoreResult], str]
"""Says for a member's key and their result what to ask before it is kept; empty for nothing."""


@dataclass(frozen=True, slots=True)
class LineRead:
    """What a line comes to in a class.

    ``member`` is whose it is, ``None`` while that is asked or not known; ``candidates`` whom
    it may mean. ``data`` and ``score`` are ``None`` where ``problems`` says why. ``before``
    is the result that counts for the member now, ``is_same`` if the line says the same.
    """

    reading: Reading
    candidates: tuple[Membership, ...]
    member: Membership | None
    before: Result | None
    is_same: bool
    data: ResultInput | None
    score: CoreScore | None
    problems: tuple[Item, ...]

    @property
    def asks_member(self) -> bool:
        """Whether it must be asked whose result it is."""
        return self.member is None and bool(self.candidates)

    @property
    def asks(self) -> bool:
        """Whether anything about the line itself must be asked before it can be kept."""
        return self.asks_member or bool(self.reading.doubts)

    @property
    def asks_correction(self) -> bool:
        """Whether it would change a result that is there."""
        return self.before is not None and not self.is_same


def read_told(
    *,
    streamed_class: StreamedClass,
    by: Membership,
    line: str,
    member: int | None = None,
    answers: Mapping[str, str] | None = None,
    ask_first: AskFirst | None = None,
) -> LineRead:
    """Read a line without keeping anything.

    ``member`` settles whose it is, if it is one of those whom the line may mean; ``answers``
    settles doubts, see ``core/told_line.py``; ``ask_first`` finds what is odd about a mark.
    Raises ``Refused`` (forbidden) for who isn't the coach of the class.
    """
    if not access.may_manage(by, streamed_class):
        raise refuse("", "Only a coach logs for others.", kind="forbidden")
    people = {row.pk: row for row in members_of(streamed_class.gym)}
    course = course_of(streamed_class)
    names = {pk: row.display_name for pk, row in people.items()}
    reading = read_line(line, course=course, names=names, answers=answers)
    whose = None
    if member in reading.members:
        whose = people[member]
    elif reading.is_sure_of_member and len(reading.members) == 1:
        whose = people[reading.members[0]]
    before = _counting(streamed_class, whose)
    problems = [Item(each.column, each.problem, each.suggestion) for each in reading.problems]
    data = score = None
    is_same = False
    if not problems and not reading.doubts:
        told = ResultInput(
            mark=reading.mark,
            options=reading.options,
            splits=reading.splits,
            note=reading.note,
            effort=reading.effort,
        )
        stood = before.current if before else None
        data = with_what_stays(streamed_class=streamed_class, told=told, fact=stood)
        try:
            result, score = read_result(course, rules_of(streamed_class), data)
        except Refused as refused:
            problems += refused.items
            data = None
        else:
            why = too_fast(course, result)
            asked = f"{why} Is {reading.mark} right?" if why else ""
            if ask_first is not None:
                asked = ask_first(whose.pk if whose else None, result) or asked
            reading = _asking_if_odd(reading, asked, answers or {})
            is_same = before is not None and says(before.current, texts_of(course, result, data))
            if before is not None and before.current is not None:
                was = before.current
                is_same = is_same and (was.note, was.effort) == (data.note, data.effort)
    return LineRead(
        reading=reading,
        candidates=tuple(people[pk] for pk in reading.members),
        member=whose,
        before=before,
        is_same=is_same,
        data=data,
        score=score,
        problems=tuple(problems),
    )


def _asking_if_odd(reading: Reading, asked: str, answers: Mapping[str, str]) -> Reading:
    """A mark that is all but impossible is asked about before it stands on a board."""
    part = f"{reading.mark}, so odd"
    if not asked or answers.get(part) == IT_IS_RIGHT:
        return reading
    doubt = Doubt("mark", part, asked, (IT_IS_RIGHT,))
    return replace(reading, doubts=(*reading.doubts, doubt))


def _counting(streamed_class: StreamedClass, member: Membership | None) -> Result | None:
    if member is None:
        return None
    return (
        Result.objects.filter(
            streamed_class=streamed_class, member=member, current__is_withdrawn=False
        )
        .select_related("current", "score")
        .first()
    )


def says(fact: Fact | None, texts: Mapping[str, str]) -> bool:
    return fact is not None and all(getattr(fact, name) == texts[name] for name in KEPT)
