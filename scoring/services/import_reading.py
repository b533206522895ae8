"""An import's lines as they are understood: read once, and again when one is mended."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from members.selectors import members_of
from scoring.core.name_book import NameBook
from scoring.core.scoring import Score
from scoring.core.told_chat import LOOKED_UP, read_chat_line
from scoring.mapping import course_of, rules_of
from scoring.models import ImportLine, ImportRun, StreamedClass
from scoring.problems import Item, Refused

from .import_holding import held_lines, write_lines
from .import_settling import settle
from .reading import ResultInput, read_result, texts_of

CHUNK = 200
READ_FIELDS = (
    "state", "member", "name", "candidates", "mark", "options", "splits", "effort", "note",
    "adjusted", "problems", "doubts", "remarks", "digest", "before",
)  # fmt: skip
"""What is derived of a line and written when it is read."""

_EFFORT = re.compile(r"(\d{1,2})(?:[.,]0{1,3})?(?:\s?/\s?10)?")
_HOURS = re.compile(r"(\d{1,2}:\d{2}):00")
_SHORT_NAME = 60


@dataclass(frozen=True, slots=True)
class Reader:
    """What lines are read against: a class, and the names of its gym."""

    streamed_class: StreamedClass
    book: NameBook

    @classmethod
    def of(cls, streamed_class: StreamedClass) -> Reader:
        """The reader of a class, with its gym's names as they are now."""
        names = members_of(streamed_class.gym).values_list("pk", "display_name")
        return cls(streamed_class, NameBook(dict(names)))

    def scored(self, data: ResultInput) -> tuple[dict[str, str], Score]:
        """A report's canonical texts and its score. Raises ``Refused``."""
        course = course_of(self.streamed_class)
        result, scored = read_result(course, rules_of(self.streamed_class), data)
        return texts_of(course, result, data), scored


def _problem(item: Item) -> dict[str, str]:
    return {"column": item.column, "problem": item.problem, "suggestion": item.suggestion}


def digest_of(member_id: int, texts: Mapping[str, str], effort: int | None, note: str) -> str:
    """What tells that two lines say the same of the same member."""
    options = sorted(texts["options"].split("; "))
    told = [member_id, texts["mark"], options, texts["splits"], effort, note]
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


def understand(
    line: ImportLine,
    reader: Reader,
    before: Sequence[str] = (),
    after: Sequence[str] = (),
) -> None:
    """Put into the line's fields what it says. Writes nothing.

    ``before`` and ``after`` are the neighbouring lines of a chat, the nearest first. The
    state is ``GOOD`` until it is settled against what is there.
    """
    is_sheet = line.run.kind == ImportRun.Kind.SHEET
    if is_sheet and not line.cells_now:
        line.state = ImportLine.State.WRONG
        return  # a row that could not be cut into cells: what is wrong was said then
    line.member_id, line.name, line.candidates, line.adjusted, line.digest = None, "", [], "", ""
    line.mark = line.options = line.splits = line.note = ""
    line.effort, line.before = None, None
    line.problems, line.doubts, line.remarks = [], [], []
    line.state = ImportLine.State.GOOD
    if is_sheet:
        told: ResultInput | None = _read_cells(line, reader)
    else:
        told = _read_text(line, reader, before, after)
    if told is None:
        line.state = ImportLine.State.CHATTER
        return
    if line.chosen_id:
        # The coach said whose it is.
        line.problems = [p for p in line.problems if p["column"] != "member"]
        line.doubts = [d for d in line.doubts if d["column"] != "member"]
        line.member_id = line.chosen_id
    _score(line, reader, told)
    if line.problems:
        line.state = ImportLine.State.WRONG
    if line.is_skipped:
        line.state = ImportLine.State.SKIPPED


def _score(line: ImportLine, reader: Reader, told: ResultInput) -> None:
    try:
        texts, scored = reader.scored(told)
    except Refused as refused:
        seen = {problem["column"] for problem in line.problems}
        line.problems += [_problem(i) for i in refused.items if i.column not in seen]
        line.mark, line.options, line.splits = told.mark[:200], told.options, str(told.splits)
        return
    line.mark, line.options, line.splits = texts["mark"], texts["options"], texts["splits"]
    line.effort, line.note, line.adjusted = told.effort, told.note, scored.adjusted.text
    if line.member_id and not line.problems:
        line.digest = digest_of(line.member_id, texts, told.effort, told.note)


def _read_text(
    line: ImportLine, reader: Reader, before: Sequence[str], after: Sequence[str]
) -> ResultInput | None:
    """What a chat's line reports; ``None`` if it is no result."""
    read = read_chat_line(
        line.text_now,
        course=course_of(reader.streamed_class),
        book=reader.book,
        before=before,
        after=after,
        answers=line.answers,
    )
    said = read.reading
    if said.is_chatter and not (line.mended or line.chosen_id):
        return None
    line.name = said.name[:_SHORT_NAME]
    line.problems = [
        {"column": p.column, "problem": p.problem, "suggestion": p.suggestion}
        for p in said.problems
    ]
    line.doubts = [
        {"column": d.column, "part": d.text, "words": d.words, "choices": list(d.choices)}
        for d in said.doubts
    ]
    _whose(line, said.members, is_sure=said.is_sure_of_member)
    if read.above:
        line.name = f"{line.name}, a line or two above"
    return ResultInput(
        mark=said.mark,
        options=said.options,
        splits=said.splits,
        note=said.note,
        effort=said.effort,
    )


def _whose(line: ImportLine, members: Iterable[int], *, is_sure: bool) -> None:
    found = list(members)
    line.candidates = found
    if found:
        line.member_id = found[0]
    if found and not is_sure:
        words = f"“{line.name}” could be several people." if len(found) > 1 else "Is it them?"
        line.doubts.append({"column": "member", "part": line.name, "words": words, "choices": []})


def _read_cells(line: ImportLine, reader: Reader) -> ResultInput:
    """What a row of a file reports."""
    cells = line.cells_now
    line.name = cells.get("name", "")[:120]
    found = reader.book.find(line.name.split())
    is_all = found.words == len(line.name.split())
    _whose(line, found.ids, is_sure=found.is_sure and is_all)
    if not found.ids:
        line.problems.append(
            _problem(
                Item(
                    "member",
                    f"Nobody here is called {line.name[:_SHORT_NAME]!r}."
                    if line.name
                    else "There is no name.",
                    "Choose whose result it is, or add them as a new member.",
                )
            )
        )
    effort, fault = _effort(cells.get("effort", ""))
    if fault:
        line.problems.append(_problem(fault))
    return ResultInput(
        mark=_mark(line, cells.get("mark", ""), reader),
        options=cells.get("options", ""),
        splits=cells.get("splits", ""),
        note=cells.get("note", ""),
        effort=effort,
    )


def _effort(text: str) -> tuple[int | None, Item | None]:
    if not text:
        return None, None
    match = _EFFORT.fullmatch(text)
    if match and int(match[1]) <= 10:
        return int(match[1]), None
    return None, Item(
        "effort", f"{text[:20]!r} is no effort.", "Write a whole number from 0 to 10, or nothing."
    )


def _mark(line: ImportLine, text: str, reader: Reader) -> str:
    """A mark's text; 12:34:00 as spreadsheets make it of 12:34 where only that can be."""
    match = _HOURS.fullmatch(text)
    if not match or _is_read(reader, text) or not _is_read(reader, match[1]):
        return text
    words = f"“{text}” is read as {match[1]}: a spreadsheet made hours of it."
    line.doubts.append({"column": "mark", "part": text, "words": words, "choices": []})
    return match[1]


def _is_read(reader: Reader, mark: str) -> bool:
    try:
        reader.scored(ResultInput(mark=mark))
    except Refused:
        return False
    return True


def _neighbours(run: ImportRun, lines: list[ImportLine]) -> dict[int, str]:
    """The texts of lines and of those around them, by number."""
    first, last = lines[0].number, lines[-1].number
    rows = run.lines.filter(number__gte=first - 2 * LOOKED_UP, number__lte=last + LOOKED_UP)
    return {row.number: row.text_now for row in rows.only("number", "text", "mended", "run")}


def read_lines(run: ImportRun, lines: list[ImportLine], reader: Reader) -> None:
    """Read lines, in their order, among their neighbours. Writes nothing."""
    if not lines:
        return
    texts = _neighbours(run, lines) if run.kind == ImportRun.Kind.CHAT else {}
    numbers = sorted(texts)
    places = {number: place for place, number in enumerate(numbers)}
    for line in lines:
        line.run = run
        place = places.get(line.number)
        if place is None:
            understand(line, reader)
            continue
        before = [texts[n] for n in reversed(numbers[max(0, place - LOOKED_UP) : place])]
        after = [texts[n] for n in numbers[place + 1 : place + 2]]
        understand(line, reader, before, after)


def read_chunk(*, pk: int, now: datetime) -> bool:
    """Read the next lines of an import, and when none is left settle them all.

    Whether there is more to do. Run twice at once, the second waits for the first.
    """
    with transaction.atomic():
        run = (
            ImportRun.objects.select_for_update(of=("self",))
            .select_related(
                "streamed_class__workout", "streamed_class__gym", "streamed_class__credit_table"
            )
            .filter(pk=pk, state=ImportRun.State.READING)
            .first()
        )
        if run is None:
            return False
        unread = run.lines.filter(state=ImportLine.State.UNREAD)
        lines = held_lines(unread.order_by("number")[:CHUNK])
        read_lines(run, lines, Reader.of(run.streamed_class))
        write_lines(lines, READ_FIELDS)
        run.touched_at = now
        if len(lines) < CHUNK:
            settle(run)
            run.state = run.resting_state()
        run.save(update_fields=["touched_at", "state"])
        return run.state == ImportRun.State.READING
