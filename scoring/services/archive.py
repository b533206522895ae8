"""Tables as files: one JSON file and a CSV file for each, in one ZIP archive."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from datetime import datetime
from typing import Any

from scoring.core.cells import escape_formula

from .own_data import Tables

ABOUT = """This is all that is kept of you here, made {made}.

all.json has everything for a program to read; each .csv file is one table of the same, for
a spreadsheet, in UTF-8. Times are in UTC. In a .csv file a ' stands before text that a
spreadsheet could take for a formula.

results      what you or a coach for you reported, with every correction
scores       what each result counts now, with the sentences that explain it
body         year of birth and body weight, which nobody else sees
tokens       when devices were let in; the secrets themselves are not kept

Other people are not named: whoever else entered something is "a coach".
"""


def pack(tables: Tables, *, made: datetime) -> bytes:
    """The archive. Empty tables are in the JSON file only."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        told = {"made_at": made.isoformat(), **tables}
        archive.writestr("about.txt", ABOUT.format(made=f"{made:%d %B %Y, %H:%M} UTC"))
        archive.writestr("all.json", json.dumps(told, ensure_ascii=False, indent=2))
        for name, rows in tables.items():
            if rows:
                archive.writestr(f"{name}.csv", _csv(rows))
    return out.getvalue()


def _csv(rows: list[dict[str, Any]]) -> str:
    """RFC 4180: lines end with CR LF; every cell escaped, lists joined by a line break."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    for row in rows:
        writer.writerow({key: _cell(value) for key, value in row.items()})
    return out.getvalue()


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        value = "\n".join(str(part) for part in value)
    return escape_formula(value) if isinstance(value, str) else value
