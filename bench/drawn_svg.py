"""Plain SVG of a chart: axes, bands, lines and marks, told apart without colour.

The same input gives the same bytes: places are rounded to a tenth, and there are no dates and
no ids made up. Colours differ in lightness, lines in dashes, marks in shape.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

WIDTH, HEIGHT = 720, 400
LEFT, RIGHT, TOP, BOTTOM = 68, 700, 24, 344
LEGEND = 18
"""Height of a line of the legend."""

DARK, MIDDLE, PALE, INK = "#16365c", "#5b7da6", "#d3deeb", "#222222"
ACCENT = "#a33b00"
DASHES = {"whole": "", "dashed": ' stroke-dasharray="7 5"', "dotted": ' stroke-dasharray="2 4"'}

Points = Iterable[tuple[float, float]]


@dataclass(slots=True)
class Chart:
    """A chart from ``x`` and ``y``, the ends of its axes; up to ``legend`` lines of legend
    stand below. ``title`` and ``about`` are what a screen reader says."""

    title: str
    about: str
    x: tuple[float, float]
    y: tuple[float, float]
    parts: list[str] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)

    def across(self, value: float) -> float:
        low, high = self.x
        return LEFT + (value - low) / (high - low) * (RIGHT - LEFT)

    def up(self, value: float) -> float:
        low, high = self.y
        return BOTTOM - (value - low) / (high - low) * (BOTTOM - TOP)

    def axes(
        self,
        x_name: str,
        y_name: str,
        x_ticks: Sequence[tuple[float, str]],
        y_ticks: Sequence[tuple[float, str]],
    ) -> None:
        """Both axes, named, with a thin line across for each tick of the upright one."""
        for value, text in y_ticks:
            y = self.up(value)
            self._line(LEFT, y, RIGHT, y, "#c8c8c8", 1)
            self._text(LEFT - 8, y + 5, text, "end")
        for value, text in x_ticks:
            x = self.across(value)
            self._line(x, BOTTOM, x, BOTTOM + 5, INK, 1)
            self._text(x, BOTTOM + 20, text, "middle")
        self._line(LEFT, BOTTOM, RIGHT, BOTTOM, INK, 1)
        self._text((LEFT + RIGHT) / 2, BOTTOM + 40, x_name, "middle")
        middle = (TOP + BOTTOM) / 2
        self.parts.append(
            f'<text x="18" y="{middle:.1f}" text-anchor="middle" '
            f'transform="rotate(-90 18 {middle:.1f})">{escape(y_name)}</text>'
        )

    def band(self, low: Points, high: Points, key: str = "") -> None:
        """The area between two lines."""
        there = [*low, *reversed([*high])]
        self.parts.append(f'<polygon points="{self._places(there)}" fill="{PALE}"/>')
        if key:
            self._key(f'<rect x="0" y="-10" width="28" height="12" fill="{PALE}"/>', key)

    def line(
        self, points: Points, dash: str = "whole", key: str = "", *, colour: str = DARK
    ) -> None:
        """A line through points."""
        style = f'fill="none" stroke="{colour}" stroke-width="2"{DASHES[dash]}'
        self.parts.append(f'<polyline points="{self._places(points)}" {style}/>')
        if key:
            self._key(f'<polyline points="0.0,-4.0 28.0,-4.0" {style}/>', key)

    def marks(self, points: Points, shape: str, key: str = "") -> None:
        """Marks: a ``dot``, a ``ring``, a ``cross``, a ``square`` or a ``triangle``."""
        for x, y in points:
            self.parts.append(_mark(shape, self.across(x), self.up(y)))
        if key:
            self._key(_mark(shape, 14, -4), key)

    def bar(self, x: float, low: float, high: float) -> None:
        """An upright interval with ends."""
        across, top, bottom = self.across(x), self.up(high), self.up(low)
        self._line(across, top, across, bottom, DARK, 3)
        for y in (top, bottom):
            self._line(across - 8, y, across + 8, y, DARK, 3)

    def note(self, x: float, y: float, text: str, anchor: str = "start") -> None:
        """Words at a place."""
        self._text(self.across(x), self.up(y), text, anchor)

    def svg(self) -> str:
        """The whole picture."""
        below = BOTTOM + 66
        height = max(HEIGHT, below + LEGEND * len(self.keys))
        keys = [
            f'<g transform="translate({LEFT} {below + LEGEND * number})">{key}</g>'
            for number, key in enumerate(self.keys)
        ]
        return "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
                f'width="{WIDTH}" height="{height}" role="img" aria-labelledby="title about" '
                f'font-family="sans-serif" font-size="14" fill="{INK}">',
                f'<title id="title">{escape(self.title)}</title>',
                f'<desc id="about">{escape(self.about)}</desc>',
                f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
                *self.parts,
                *keys,
                "</svg>\n",
            ]
        )

    def _key(self, sample: str, text: str) -> None:
        self.keys.append(f'{sample}<text x="38" y="0">{escape(text)}</text>')

    def _places(self, points: Points) -> str:
        return " ".join(f"{self.across(x):.1f},{self.up(y):.1f}" for x, y in points)

    def _line(self, x: float, y: float, to_x: float, to_y: float, colour: str, width: int) -> None:
        self.parts.append(
            f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{to_x:.1f}" y2="{to_y:.1f}" '
            f'stroke="{colour}" stroke-width="{width}"/>'
        )

    def _text(self, x: float, y: float, text: str, anchor: str) -> None:
        self.parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'
        )


def _mark(shape: str, x: float, y: float) -> str:
    if shape == "dot":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{DARK}"/>'
    if shape == "ring":
        style = f'fill="#ffffff" stroke="{INK}" stroke-width="1.5"'
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" {style}/>'
    if shape == "square":
        return f'<rect x="{x - 4.5:.1f}" y="{y - 4.5:.1f}" width="9" height="9" fill="{MIDDLE}"/>'
    if shape == "triangle":
        corners = f"{x:.1f},{y - 6:.1f} {x + 5:.1f},{y + 4:.1f} {x - 5:.1f},{y + 4:.1f}"
        return f'<polygon points="{corners}" fill="{INK}"/>'
    arms = f"M{x - 5:.1f},{y - 5:.1f}L{x + 5:.1f},{y + 5:.1f}"
    arms += f"M{x - 5:.1f},{y + 5:.1f}L{x + 5:.1f},{y - 5:.1f}"
    return f'<path d="{arms}" stroke="{ACCENT}" stroke-width="2.5"/>'
