"""The palette's contrast, computed as WCAG 2.2 defines it, in both schemes."""

import re
from pathlib import Path

import pytest

STYLE = Path(__file__).parent.parent / "gymsite/static/gymsite/style.css"
ENTRY = re.compile(r"--([\w-]+):\s*light-dark\((#[0-9a-f]{6}),\s*(#[0-9a-f]{6})\)")
PALETTE = {name: (light, dark) for name, light, dark in ENTRY.findall(STYLE.read_text())}

TEXT_PAIRS = [
    *[("ink", ground) for ground in ("ground", "sheet", "own", "done")],
    *[("soft", ground) for ground in ("ground", "sheet", "own")],
    *[("deep", ground) for ground in ("ground", "sheet", "own")],
    *[("warn", ground) for ground in ("ground", "sheet", "warn-ground")],
    ("on-deep", "deep"),
]
PART_PAIRS = [
    *[("line", ground) for ground in ("ground", "sheet")],
    *[("deep", ground) for ground in ("ground", "sheet", "own")],
    *[("warn", ground) for ground in ("sheet", "done", "warn-ground")],
]


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 definitions (threshold 0.04045)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2 definitions."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("colour", "ratio"),
    # W3C, WCAG 2.2, definitions of relative luminance and contrast ratio: values on white
    # that follow from them, with the last grey that passes for text and for other parts.
    [
        ("#000000", 21),
        ("#767676", 4.5422),
        ("#777777", 4.4781),
        ("#949494", 3.0335),
        ("#959595", 2.9953),
        ("#595959", 7.0047),
        ("#ff0000", 3.9985),
        ("#0000ff", 8.5925),
        ("#008000", 5.1374),
    ],
)
def test_the_arithmetic_gives_the_values_that_follow_from_the_definition(colour, ratio):
    assert contrast(colour, "#ffffff") == pytest.approx(ratio, abs=5e-5)


def test_no_colour_stands_outside_the_palette():
    rules = STYLE.read_text().split("}", 1)[1]
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsla?\(", rules) == []
    assert set(re.findall(r"var\(--([\w-]+)\)", rules)) == set(PALETTE)


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), TEXT_PAIRS)
def test_text_reaches_double_a(text, ground, scheme):
    # WCAG 2.2, 1.4.3 (AA): 4.5 to 1.
    assert contrast(PALETTE[text][scheme], PALETTE[ground][scheme]) >= 4.5


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(("part", "ground"), PART_PAIRS)
def test_edges_and_marks_reach_double_a(part, ground, scheme):
    # WCAG 2.2, 1.4.11 (AA): 3 to 1 for what is needed to understand a control or a picture.
    assert contrast(PALETTE[part][scheme], PALETTE[ground][scheme]) >= 3


def test_every_block_of_the_style_is_closed_where_it_should_be():
    """One brace too few and all that follows holds for wide screens only."""
    depth, deepest = 0, 0
    for sign in STYLE.read_text(encoding="utf-8"):
        depth += {"{": 1, "}": -1}.get(sign, 0)
        deepest = max(deepest, depth)
        assert depth >= 0
    assert depth == 0 and deepest == 2
