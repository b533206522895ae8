"""A results file as it comes out of a spreadsheet: bytes → text → lines of named cells.

Nothing is scored here (that is sheet_board.py). A line that can't be read becomes a
problem with its number and never takes its neighbours with it.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from .names import plain

COLUMNS = ("name", "mark", "options", "splits", "note")
NEEDED = ("name", "mark")

MAX_BYTES = 10 * 1024 * 1024
MAX_LINES = 100_000
MAX_CELLS = 200
MAX_CELL = {
    "name": 120, "mark": 200, "options": 2_000, "splits": 1_000, "note": 2_000, "effort": 20,
}  # fmt: skip
MAX_SPAN = 20
"""How many lines one quoted cell may run over. A forgotten quotation mark costs at most
a look at so many lines, and then only its own line."""

_SAVE_AS = "Save it as plain text in UTF-8 (spreadsheets call it CSV UTF-8)."


class SheetError(ValueError):
    """A file that can't be read at all; ``suggestion`` says what would help."""

    def __init__(self, problem: str, suggestion: str, *, line: int = 1) -> None:
        super().__init__(problem)
        self.problem = problem
        self.suggestion = suggestion
        self.line = line


@dataclass(frozen=True, slots=True)
class SheetProblem:
    """A line that was not read. ``column`` is ``None`` when it is about the whole line."""

    line: int
    column: str | None
    problem: str
    suggestion: str


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One line's cells as text; ``line`` counts from 1, the header included."""

    line: int
    name: str
    mark: str
    options: str
    splits: str
    note: str
    effort: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a results file says, before any of it is scored."""

    rows: tuple[SheetRow, ...]
    problems: tuple[SheetProblem, ...]
    remarks: tuple[str, ...]


def decode(data: bytes) -> tuple[str, tuple[str, ...]]:
    """Text of a file's bytes, and remarks on how it was read.

    UTF-8 with or without a byte order mark and UTF-16 with one are read. What is neither
    is read as Windows-1252 with a remark, for that is what older spreadsheets write.

    Raises
    ------
    SheetError
        For what is no text, or more than ``MAX_BYTES``.
    """
    if len(data) > MAX_BYTES:
        raise SheetError(
            f"The file has more than {MAX_BYTES // 1024 // 1024} MB.",
            "Give the results of one class at a time.",
        )
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise SheetError("That is a spreadsheet or an archive, not text.", _SAVE_AS)
    remarks: tuple[str, ...] = ()
    encoding = "utf-8-sig"
    if data.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        raise SheetError("The file is written in UTF-32.", _SAVE_AS)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        if encoding == "utf-16" or b"\0" in data:
            raise SheetError("The file is no readable text.", _SAVE_AS) from None
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError:
            raise SheetError("The file is no text in UTF-8.", _SAVE_AS) from None
        remarks = (
            f"The file is not in UTF-8; it was read as Windows-1252. If names look odd: {_SAVE_AS}",
        )
    if "\0" in text:
        raise SheetError("The file is no text, or UTF-16 without its byte order mark.", _SAVE_AS)
    return text, remarks


def split_lines(text: str) -> list[str]:
    """The lines of a file, whatever ends them, without the empty ones at its end."""
    lines = re.split("\r\n|\r|\n", text.removeprefix("\ufeff"))
    while lines and not lines[-1].strip():
        lines.pop()
    return lines


def read_sheet(
    text: str,
    *,
    columns: Sequence[str] = COLUMNS,
    named: Callable[[list[str]], list[str]] = list,
    most: int = MAX_LINES,
) -> Sheet:
    """Read a results file.

    The first line names the columns, in any order and case; cells are separated by
    commas, semicolons or tabs. ``named`` may give the header's names as those of
    ``columns`` they stand for; ``most`` is how many lines are taken.

    Raises
    ------
    SheetError
        Without a header that names at least ``name`` and ``mark``, or for more than
        ``MAX_LINES`` lines.
    """
    lines = split_lines(text)
    if len(lines) > most + 1:
        raise SheetError(
            f"The file has more than {most} lines.", "Give the results of one class at a time."
        )
    start = next((i for i, line in enumerate(lines) if line.strip()), len(lines))
    # Some spreadsheets begin with a line that names the separator.
    if start < len(lines) and re.fullmatch("sep=.", lines[start].strip(" \"'"), re.I):
        start = next((i for i in range(start + 1, len(lines)) if lines[i].strip()), len(lines))
    if start == len(lines):
        raise SheetError(
            "The file is empty.", f"The first line names the columns: {_listed(columns)}."
        )
    delimiter, header = _header(lines[start], columns, named)
    places, remarks = _places(header, start + 1, columns)
    rows: list[SheetRow] = []
    problems: list[SheetProblem] = []
    at = start + 1
    while at < len(lines):
        first = at
        cells, at, fault = _cells(lines, at, delimiter)
        if fault:
            problems.append(SheetProblem(first + 1, None, *fault))
        elif any(cell.strip() for cell in cells):
            found = _row(first + 1, cells, len(header), places, delimiter)
            if isinstance(found, SheetRow):
                rows.append(found)
            else:
                problems.append(found)
    return Sheet(tuple(rows), tuple(problems), remarks)


def _listed(columns: Sequence[str]) -> str:
    return ", ".join(columns)


def _header(
    line: str, columns: Sequence[str], named: Callable[[list[str]], list[str]]
) -> tuple[str, list[str]]:
    """The separator under which most columns are known, and the columns' names."""
    best: tuple[int, int, str, list[str]] | None = None
    for delimiter in ",;\t":
        try:
            names = next(csv.reader([line[:10_000]], delimiter=delimiter), [])
        except csv.Error:
            continue
        names = named([plain(name).lower() for name in names])
        known = len(set(names) & set(columns))
        if best is None or (known, len(names)) > best[:2]:
            best = (known, len(names), delimiter, names)
    if best is None:
        return ",", [plain(line).lower()]
    return best[2], best[3]


def _places(
    header: list[str], line: int, columns: Sequence[str]
) -> tuple[dict[str, int], tuple[str, ...]]:
    """Where each known column stands, and a remark on those that are ignored."""
    if len(header) > MAX_CELLS:
        raise SheetError(
            f"The first line has more than {MAX_CELLS} columns.",
            f"The columns are {_listed(columns)}.",
            line=line,
        )
    places: dict[str, int] = {}
    for position, name in enumerate(header):
        if name not in columns:
            continue
        if name in places:
            raise SheetError(
                f"The column {name!r} stands there twice.", "Leave one of them out.", line=line
            )
        places[name] = position
    unknown = [name for name in header if name and name not in columns]
    for name in NEEDED:
        if name in places:
            continue
        close = get_close_matches(name, [u[:40] for u in unknown], 1, 0.6)
        raise SheetError(
            f"There is no column {name!r}.",
            f"Call {close[0]!r} {name!r}."
            if close
            else f"The first line names the columns, in any order: {_listed(columns)}.",
            line=line,
        )
    if not unknown:
        return places, ()
    shown = ", ".join(repr(name[:40]) for name in unknown[:10])
    more = f" and {len(unknown) - 10} more" if len(unknown) > 10 else ""
    return places, (f"Columns that are not used: {shown}{more}. Used are {_listed(columns)}.",)


def _cells(
    lines: list[str], at: int, delimiter: str
) -> tuple[list[str], int, tuple[str, str] | None]:
    """The cells of the record that begins at ``at``, where the next begins, and its fault."""
    if '"' not in lines[at]:
        return lines[at].split(delimiter, MAX_CELLS), at + 1, None
    # The line breaks that were split off are put back for cells that run over lines.
    reader = csv.reader(
        (line + "\n" for line in lines[at : at + MAX_SPAN]), delimiter=delimiter, strict=True
    )
    try:
        cells = next(reader)
    except csv.Error:
        return (
            [],
            at + 1,
            (
                "A quotation mark on this line is opened and not closed, or closed too early.",
                'Take it out, or write it twice inside a quoted cell: "6"" box".',
            ),
        )
    return cells, at + reader.line_num, None


def _row(
    line: int, cells: list[str], width: int, places: dict[str, int], delimiter: str
) -> SheetRow | SheetProblem:
    if len(cells) > width and any(cell.strip() for cell in cells[width:]):
        sign = "tab" if delimiter == "\t" else delimiter
        return SheetProblem(
            line,
            None,
            f"This line has more cells than the {width} columns of the first line.",
            f'Put a cell that contains a {sign} in quotation marks: "tuck rock{sign} step-up".'
            if delimiter != "\t"
            else "Take the extra tabs out.",
        )
    texts = {}
    for column, position in places.items():
        text = plain(cells[position]) if position < len(cells) else ""
        if len(text) > MAX_CELL[column]:
            return SheetProblem(
                line,
                column,
                f"That is too long: {len(text)} characters.",
                f"Write at most {MAX_CELL[column]}.",
            )
        texts[column] = text
    if not texts["name"]:
        return SheetProblem(line, "name", "There is no name.", "Say whose result it is.")
    return SheetRow(
        line,
        texts["name"],
        texts["mark"],
        texts.get("options", ""),
        texts.get("splits", ""),
        texts.get("note", ""),
        texts.get("effort", ""),
    )
