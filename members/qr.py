"""An address as a QR picture: an SVG path in whole units, coloured by the style sheet."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_M

QUIET = 4
"""Light modules around the picture, as many as ISO/IEC 18004 asks for."""


@dataclass(frozen=True, slots=True)
class Picture:
    """``side`` is its width and height in modules, the quiet edge included; ``path`` draws
    the dark ones, a run of them at a time."""

    side: int
    path: str


def matrix(text: str) -> list[list[bool]]:
    """Which modules are dark, row by row, the quiet edge included."""
    code = QRCode(error_correction=ERROR_CORRECT_M, border=QUIET)
    code.add_data(text)
    code.make(fit=True)
    return [[bool(module) for module in row] for row in code.get_matrix()]


def picture(text: str) -> Picture:
    """The picture of a text. Raises ``ValueError`` for one that is too long for any."""
    rows = matrix(text)
    return Picture(len(rows), "".join(_runs(y, row) for y, row in enumerate(rows)))


def _runs(y: int, row: list[bool]) -> str:
    path, x = "", 0
    for is_dark, modules in groupby(row):
        width = len(list(modules))
        if is_dark:
            path += f"M{x} {y}h{width}v1h-{width}z"
        x += width
    return path
