"""A small picture of a figure and its interval; the same stands beside it in words."""

from __future__ import annotations

from dataclasses import dataclass

WIDTH = 240
EDGE = 8


@dataclass(frozen=True, slots=True)
class Bar:
    """Places along the line, in units of the picture. ``middle`` is what to compare with,
    ``ends`` say what the line's ends are."""

    low: int
    high: int
    at: int
    middle: int | None
    ends: tuple[str, str]
    told: str

    @property
    def wide(self) -> int:
        return max(1, self.high - self.low)


def interval_bar(
    value: float,
    low: float,
    high: float,
    *,
    scale: tuple[float, float],
    ends: tuple[str, str],
    told: str,
    middle: float | None = None,
) -> Bar:
    """A figure on a line; what lies beyond its ends is drawn at them."""
    start, end = scale

    def along(figure: float) -> int:
        part = (min(max(figure, start), end) - start) / (end - start)
        return EDGE + round(part * (WIDTH - 2 * EDGE))

    return Bar(
        along(low),
        along(high),
        along(value),
        None if middle is None else along(middle),
        ends,
        told,
    )


def unbroken(text: str) -> str:
    """No line ends between a number and its per cent sign."""
    return text.replace(" %", "\N{NO-BREAK SPACE}%")
