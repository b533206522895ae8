"""A board counted anew in plain SQL, by nothing that the site itself counts with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from scoring.boards import View

from . import sql

_PART = {"all": "", "prescribed": " AND as_prescribed", "scaled": " AND NOT as_prescribed"}
_RECOUNT = """
SELECT result_id, "key", tie_key, as_prescribed,
       rank() OVER (ORDER BY "key" DESC, tie_key ASC),
       count(*) OVER (PARTITION BY "key", tie_key),
       count(*) OVER ()
FROM scoring_score WHERE streamed_class_id = %s{part}
ORDER BY "key" DESC, tie_key ASC, CAST(result_id AS varchar(20)) ASC"""


class Placed(NamedTuple):
    """One entry: ``rank`` is 1 + how many are better, ``equal`` how many share it (oneself
    included), ``total`` how many there are."""

    result_id: int
    key: int
    tie_key: int
    as_prescribed: bool
    rank: int
    equal: int
    total: int


def recount(class_id: int, view: View) -> Iterator[Placed]:
    """A view's entries, best first; those level with each other by the text of their number."""
    for row in sql.rows(_RECOUNT.format(part=_PART[view]), [class_id]):
        yield Placed._make((*row[:3], bool(row[3]), *row[4:]))
