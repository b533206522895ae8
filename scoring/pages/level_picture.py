"""A level over time with its likely band, as bare SVG that our own style sheet colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor
from xml.etree.ElementTree import Element, SubElement, tostring

from django.utils.formats import date_format
from django.utils.safestring import SafeString, mark_safe

from scoring.core.estimation.level_reading import TYPICAL, Reading

WIDTH, HEIGHT = 400, 240
LEFT, RIGHT, TOP, BOTTOM = 40, 380, 14, 206
STEPS = (2, 5, 10, 20, 25, 50, 100)
MOST_STEPS = 6
DATES = 4


@dataclass(frozen=True, slots=True)
class Step:
    """A point of the picture; ``results`` is how many are from its day, 0 for none."""

    day: float
    date: date
    reading: Reading
    results: int


class _Scale:
    """From days and levels to places in the picture."""

    def __init__(self, steps: Sequence[Step]) -> None:
        self.first, self.last = steps[0].day, steps[-1].day
        low = min(TYPICAL, *(step.reading.low for step in steps))
        high = max(TYPICAL, *(step.reading.high for step in steps))
        self.step = next(
            (s for s in STEPS if ceil(high / s) - floor(low / s) <= MOST_STEPS), STEPS[-1]
        )
        self.low = floor(low / self.step) * self.step
        self.high = max(ceil(high / self.step) * self.step, self.low + self.step)

    def x(self, day: float) -> str:
        share = (day - self.first) / ((self.last - self.first) or 1.0)
        return f"{LEFT + share * (RIGHT - LEFT):.1f}"

    def y(self, level: float) -> str:
        share = (level - self.low) / (self.high - self.low)
        return f"{BOTTOM - share * (BOTTOM - TOP):.1f}"


def level_picture(steps: Sequence[Step], *, title: str, told: str) -> SafeString:
    """The line, its band, a dot for each day with results, and a line at the typical member.

    Parameters
    ----------
    steps
        The oldest first, the last one for today. Less than two days make no picture.
    title, told
        Its name, and what it shows, for those who can't see it.
    """
    if len(steps) < 2 or steps[-1].day <= steps[0].day:
        return SafeString("")
    scale = _Scale(steps)
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {WIDTH} {HEIGHT}",
            "role": "img",
            "aria-labelledby": "level-title level-told",
        },
    )
    SubElement(root, "title", id="level-title").text = title
    SubElement(root, "desc", id="level-told").text = told
    _levels(root, scale)
    _dates(root, scale, steps)
    upper = [f"{scale.x(s.day)},{scale.y(s.reading.high)}" for s in steps]
    lower = [f"{scale.x(s.day)},{scale.y(s.reading.low)}" for s in steps]
    SubElement(root, "polygon", {"class": "likely", "points": " ".join(upper + lower[::-1])})
    typical = scale.y(TYPICAL)
    ends = {"x1": str(LEFT), "x2": str(RIGHT), "y1": typical, "y2": typical}
    SubElement(root, "line", {"class": "typical", **ends})
    line = " ".join(f"{scale.x(s.day)},{scale.y(s.reading.level)}" for s in steps)
    SubElement(root, "polyline", {"class": "middle", "points": line})
    for step in steps:
        if step.results:
            at = {"cx": scale.x(step.day), "cy": scale.y(step.reading.level), "r": "3"}
            dot = SubElement(root, "circle", at)
            SubElement(dot, "title").text = _told(step)
    return mark_safe(tostring(root, encoding="unicode"))  # noqa: S308 - ElementTree escapes


def _told(step: Step) -> str:
    reading = step.reading
    return (
        f"{date_format(step.date, 'j M Y')}: {round(reading.level)}, likely between "
        f"{round(reading.low)} and {round(reading.high)}"
    )


def _levels(root: Element, scale: _Scale) -> None:
    axis = SubElement(root, "g", {"class": "axis y"})
    for level in range(scale.low, scale.high + 1, scale.step):
        y = scale.y(level)
        ends = {"x1": str(LEFT), "x2": str(RIGHT), "y1": y, "y2": y}
        SubElement(axis, "line", {"class": "guide", **ends})
        at = {"x": str(LEFT - 6), "y": f"{float(y) + 4:.1f}"}
        SubElement(axis, "text", at).text = str(level)


def _dates(root: Element, scale: _Scale, steps: Sequence[Step]) -> None:
    """Dates below, evenly spread; the year only where there are several."""
    pattern = "j M" if steps[0].date.year == steps[-1].date.year else "j M y"
    axis = SubElement(root, "g", {"class": "axis x"})
    last = None
    for number in range(DATES):
        day = scale.first + number * (scale.last - scale.first) / (DATES - 1)
        step = min(steps, key=lambda each: abs(each.day - day))
        text = date_format(step.date, pattern)
        if text == last:
            continue
        last = text
        anchor = "from" if number == 0 else "upto" if number == DATES - 1 else ""
        SubElement(
            axis, "text", {"x": scale.x(step.day), "y": str(HEIGHT - 14), "class": anchor}
        ).text = text
