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


def _picture(
    kind: type[pygal.graph.graph.Graph],
    series: Sequence[tuple[str, Sequence[Point]]],
    *,
    name: str,
    title: str,
    told: str,
) -> SafeString:
    chart = kind(
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
        margin_left=26,
        margin_right=30,
        no_data_text="",
    )
    chart.uuid = name
    points = series[0][1]
    labels = [p.label for p in points]
    chart.x_labels = labels
    step = max(1, -(-len(points) // MOST_LABELS))
    chart.x_labels_major = labels[::step]
    for label, listed in series:
        chart.add(label, [{"value": p.value, "label": p.told} for p in listed])

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


def _is_bar(element: Element) -> bool:
    return element.tag == "rect" and "rect" in element.get("class", "").split()


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
    # Of several series the first is the one that is told.
    dots = [e for e in root.iter() if e.tag == "circle" or _is_bar(e)]
    for dot, point in zip(dots, points, strict=False):
        SubElement(dot, "title").text = point.told


def bar_chart(points: Sequence[Point], *, name: str, title: str, told: str) -> SafeString:
    """Bars side by side with a title and a description for those who can't see them; empty for
    none."""
    if not points:
        return SafeString("")
    return _picture(pygal.Bar, [("", points)], name=name, title=title, told=told)
