"""A file of results as coaches keep them: the columns of core/sheet.py under many names.

``sheet.py`` reads the file; here it is found which of its columns is meant by a header
that somebody made up for themselves, and which text stood where.
"""

from __future__ import annotations

import unicodedata
from difflib import get_close_matches

from .sheet import Sheet, read_sheet, split_lines

COLUMNS = ("name", "mark", "options", "effort", "splits", "note")

_SPELLINGS = {
    "name": "names member members who person people participant full_name member_name first_name",
    "mark": "marks result results score scores reps time how_far total",
    "options": "option scaled scaling done_otherwise how variation variations version",
    "effort": "rpe exertion how_hard",
    "splits": "split split_times",
    "note": "notes comment comments remark remarks words",
}
SPELLINGS = {
    spelling.replace("_", " "): column
    for column, spellings in _SPELLINGS.items()
    for spelling in (column, *spellings.split())
}
"""Which column a header means, by how it is spelt."""

_LONGEST = 40


def _bare(name: str) -> str:
    """A header's letters alone: without case, accents, signs and what stands in brackets."""
    before = name[:_LONGEST].split("(")[0]
    letters = unicodedata.normalize("NFKD", before.casefold())
    return " ".join("".join(c if c.isalpha() else " " for c in letters if c.isascii()).split())


def columns_named(header: list[str]) -> list[str]:
    """The header with each name replaced by the column it stands for, where one is meant.

    A column's own name goes before another spelling of it, a spelling before a misspelling,
    and the first of two before the second: the one that is not taken keeps its name.
    """
    named = list(header)
    bare = [_bare(name) for name in header[:_LONGEST]]
    taken = {name for name in named if name in COLUMNS}
    tries = (
        lambda name: name if name in COLUMNS else "",
        lambda name: SPELLINGS.get(name, ""),
        lambda name: next(
            (SPELLINGS[found] for found in get_close_matches(name, SPELLINGS, 1, 0.75)), ""
        ),
    )
    for read in tries:
        for position, name in enumerate(bare):
            if named[position] in COLUMNS or len(name) < 2:
                continue
            column = read(name)
            if column and column not in taken:
                named[position] = column
                taken.add(column)
    return named


def read_told_sheet(text: str, *, most: int) -> tuple[Sheet, list[str]]:
    """Read a coach's file; with it its raw lines, of which a row's ``line`` counts from 1.

    Raises
    ------
    SheetError
        Like ``read_sheet``, and for more than ``most`` lines of results.
    """
    sheet = read_sheet(text, columns=COLUMNS, named=columns_named, most=most)
    return sheet, split_lines(text)
