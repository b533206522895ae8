"""Pictures of figures over time, as bare SVG that our own style sheet colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement

import pygal
from django.utils.safestring import SafeString, mark_safe

WIDTH = 400
HEIGHT = 240
MOST_LABELS = 5


@dataclass(frozen=True, slots=True)
class Point:
    """A dated figure. ``label`` stands below it, ``told`` is what pointing at it says."""

    label: str
    value: float
    told: str


def line_chart(points: Sequence[Point], *, name: str, title: str, told: str) -> SafeString:
    """A line through points, with a title and a description for those who can't see it.

    Scripts, style sheets and inline styles are taken out: the site's policy lets none
    run, and the palette is ours. Empty for less than two points.
    """
    if len(points) < 2:
        return SafeString("")
    chart = pygal.Line(
        width=WIDTH,
        height=HEIGHT,
        js=[],
        css=[],
        show_legend=False,
        truncate_label=-1,
        disable_xml_declaration=True,
        explicit_size=False,
        show_minor_x_labels=False,
        dots_size=3,
        margin=12,
        no_data_text="",
    )
    chart.uuid = name
    labels = [p.label for p in points]
    chart.x_labels = labels
    step = max(1, -(-len(points) // MOST_LABELS))
    chart.x_labels_major = labels[::step]
    chart.add("", [{"value": p.value, "label": p.told} for p in points])

    def strip(root: Element) -> Element:
        _strip(root)
        _describe(root, name, title, told, points)
        return root

    chart.add_xml_filter(strip)
    return mark_safe(chart.render(is_unicode=True))  # noqa: S308 - pygal escapes its texts


def _strip(root: Element) -> None:
    for parent in list(root.iter()):
        parent.attrib.pop("style", None)
        for child in list(parent):
            tag = child.tag if isinstance(child.tag, str) else ""
            if tag in ("script", "style") or not tag or tag == "desc":
                parent.remove(child)
    for title in [e for e in root if e.tag == "title"]:
        root.remove(title)


def _describe(root: Element, name: str, title: str, told: str, points: Sequence[Point]) -> None:
    """Name and describe the picture; each dot says its figure when pointed at."""
    root.set("role", "img")
    root.set("aria-labelledby", f"{name}-title {name}-told")
    root.attrib.pop("id", None)
    described = Element("title", id=f"{name}-title")
    described.text = title
    saying = Element("desc", id=f"{name}-told")
    saying.text = told
    root.insert(0, described)
    root.insert(1, saying)
    dots = [e for e in root.iter() if e.tag == "circle"]
    for dot, point in zip(dots, points, strict=False):
        SubElement(dot, "title").text = point.told
