"""Cells of files for spreadsheets."""


def escape_formula(text: str) -> str:
    """Text that a spreadsheet shows and never runs (OWASP ASVS 5.0.0, 1.2.10)."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r", "\0") else text
