"""An import's lines against each other and against what is on the board already."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from django.db.models import QuerySet

from scoring.models import Fact, ImportLine, ImportRun, Result

from .import_holding import held_lines, write_lines

States = ImportLine.State
OPEN = (States.GOOD, States.DOUBTFUL, States.KNOWN, States.SKIPPED)
"""States of lines that could be read and are not in yet."""

SETTLED_FIELDS = ("state", "remarks", "before", "is_new", "is_accepted")


def says_the_same(line: ImportLine, fact: Fact | None) -> bool:
    """Whether a result says all that a line does; what the line leaves out is no difference."""
    return (
        fact is not None
        and not fact.is_withdrawn
        and line.mark == fact.mark
        and sorted(line.options.split("; ")) == sorted(fact.options.split("; "))
        and (not line.splits or line.splits == fact.splits)
        and (line.effort is None or line.effort == fact.effort)
    )


def told_short(mark: str, options: str) -> str:
    """A mark with its options in a few words."""
    return f"{mark} ({options})" if options else mark


def guessed(line: ImportLine) -> bool:
    """Whether it is not sure whose a line is."""
    return any(doubt["column"] == "member" for doubt in line.doubts)


def must_choose(line: ImportLine) -> bool:
    """Whether a line could mean several things, so that it can't just be taken as read."""
    if guessed(line) and len(line.candidates) > 1:
        return True
    return any(len(doubt["choices"]) > 1 for doubt in line.doubts)


def settle(run: ImportRun, members: Collection[int] | None = None) -> None:
    """Say of each line that can be kept whether it is new, in already, or to be confirmed.

    Of several lines about one member the last that is not left out counts. With ``members``
    only their lines are looked at again.
    """
    lines = run.lines.filter(state__in=OPEN).exclude(digest="")
    results = Result.objects.filter(streamed_class=run.streamed_class_id)
    before = ImportLine.objects.filter(
        run__streamed_class=run.streamed_class_id, state=States.SAVED, fact__isnull=False
    ).exclude(run=run)
    if members is not None:
        own = list(members)
        lines, results = lines.filter(member__in=own), results.filter(member__in=own)
        before = before.filter(member__in=own)
    of_member: dict[int, list[ImportLine]] = {}
    changed: list[ImportLine] = []
    for line in held_lines(lines.order_by("number")):
        if line.is_skipped:
            line.state, line.remarks = States.SKIPPED, []
        elif guessed(line):
            # It may be about somebody else, so it gets in nobody's way until it is answered.
            line.state, line.remarks = States.DOUBTFUL, []
            changed.append(line)
            continue
        of_member.setdefault(line.member_id or 0, []).append(line)
    current = _current(results)
    known = set(before.values_list("digest", flat=True))
    undone = set(
        ImportLine.objects.filter(run__streamed_class=run.streamed_class_id)
        .filter(undo_fact__isnull=False)
        .values_list("undo_fact", flat=True)
    )
    for member_id, told in of_member.items():
        wanted = [line for line in told if not line.is_skipped]
        for line in wanted[:-1]:
            _give_way(line, wanted[-1])
        for line in wanted[-1:]:
            fact = current.get(member_id)
            if fact is not None and fact.is_withdrawn and fact.pk in undone:
                fact = None  # an import was undone: as if it had never been
            _weigh(line, wanted[:-1], fact, is_known=line.digest in known)
            line.before, line.is_new = current.get(member_id), fact is None
        changed += told
    write_lines(changed, SETTLED_FIELDS)


def _current(results: QuerySet[Result]) -> dict[int, Fact]:
    """The fact that stands, by member."""
    rows = results.filter(current__isnull=False).select_related(
        "current__entered_by", "current__result"
    )
    return {row.member_id: row.current for row in rows if row.current is not None}


def _give_way(line: ImportLine, to: ImportLine) -> None:
    line.state, line.before = States.SKIPPED, None
    if line.digest == to.digest:
        line.remarks = [f"Line {to.number} says the same."]
    else:
        later = told_short(to.mark, to.options)
        line.remarks = [f"Line {to.number} says something later of them: {later}."]


def _weigh(
    line: ImportLine, earlier: Iterable[ImportLine], fact: Fact | None, *, is_known: bool
) -> None:
    """Decide about the line that counts of a member."""
    was, doubtful = line.remarks, bool(line.doubts)
    line.remarks = []
    if says_the_same(line, fact):
        line.state = States.KNOWN
        return
    there = told_short(fact.mark, fact.options) if fact else ""
    if fact is not None and not fact.is_withdrawn:
        if is_known:
            line.state = States.KNOWN
            line.remarks = [f"It came in before and was changed since, to {there}. That stays."]
            return
        who = "themselves" if fact.entered_by_id == line.member_id else "a coach"
        line.remarks.append(f"There is {there}, entered by {who}. This line would change it.")
        doubtful = True
    elif fact is not None:
        why = f": {fact.reason}" if fact.reason else "."
        line.remarks.append(f"Their result {there} was taken off the board{why}")
        doubtful = True
    for other in earlier:
        if other.digest != line.digest:
            told = told_short(other.mark, other.options)
            line.remarks.append(f"Line {other.number} says {told}. The later line counts.")
            doubtful = True
    if line.remarks != was:
        line.is_accepted = False  # what was confirmed is not what would happen now
    line.state = States.DOUBTFUL if doubtful and not line.is_accepted else States.GOOD
