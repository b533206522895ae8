"""Cells of files for spreadsheets."""

from __future__ import annotations

import re

_SIGNS = "=+@＝＋－＠-"
_FIRST = (*_SIGNS, "\t", "\r", "\n", "\0")
_WITHIN = re.compile(rf"([;\t\r\n])(?=[ ]?[{_SIGNS}])")


def escape_formula(text: str) -> str:
    """Text that a spreadsheet shows and never runs (OWASP ASVS 5.0.0, 1.2.10).

    Full-width signs and line ends count too (OWASP, "CSV Injection"). A spreadsheet of a
    country that separates by semicolons begins a cell where others don't, so a sign behind
    one, or on a further line, is not left at a beginning either.
    """
    text = _WITHIN.sub(r"\1'", text)
    return f"'{text}" if text.startswith(_FIRST) else text
