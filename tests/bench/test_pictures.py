"""The pictures of estimates are what their script draws, and say in words what they show."""

import os
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from bench import picture_gyms, pictures

ROOT = Path(__file__).parent.parent.parent
PAGE = (ROOT / "scoring" / "ESTIMATES.md").read_text(encoding="utf-8")
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
SVG = "{http://www.w3.org/2000/svg}"


def test_the_script_draws_the_pictures_that_are_kept(tmp_path):
    subprocess.run(
        [sys.executable, "-m", "bench.pictures", "--into", str(tmp_path)],
        cwd=ROOT,
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        check=True,
    )
    drawn = {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()}
    kept = {path.name: path.read_text(encoding="utf-8") for path in pictures.FOLDER.glob("*.svg")}
    assert set(drawn) == set(kept) == set(pictures.PICTURES)
    differ = sorted(name for name in kept if not is_same(drawn[name], kept[name]))
    assert differ == [], "make pictures draws them anew"


def is_same(one: str, other: str) -> bool:
    """To a third of a pixel: another processor's last digits may round to another tenth."""
    words = NUMBER.sub("", one) == NUMBER.sub("", other)
    places = [list(map(float, NUMBER.findall(text))) for text in (one, other)]
    return words and places[0] == pytest.approx(places[1], abs=0.3)


def test_the_figures_of_a_gym_that_are_kept_are_what_fitting_it_gives():
    """Nearly: a share is of a few dozen cases, and one of them may lie on the border."""
    kept = picture_gyms.kept()
    assert [gym["seed"] for gym in kept] == list(range(picture_gyms.GYMS))
    anew = picture_gyms.one(0)
    assert anew["ways"] == [pytest.approx(each, abs=1e-3) for each in kept[0]["ways"]]
    for name, shares in kept[0]["inside"].items():
        assert anew["inside"][name] == pytest.approx(shares, abs=0.05), name


@pytest.mark.parametrize("name", pictures.PICTURES)
def test_a_picture_says_what_it_shows(name):
    root = ElementTree.parse(pictures.FOLDER / name).getroot()
    told = [root.find(f"{SVG}{tag}") for tag in ("title", "desc")]
    assert root.get("role") == "img"
    assert root.get("aria-labelledby").split() == [each.get("id") for each in told]
    assert all(len(each.text) > 20 for each in told)


@pytest.mark.parametrize("name", pictures.PICTURES)
def test_the_page_shows_each_picture_with_words_for_who_can_not_see_it(name):
    found = re.findall(rf"!\[([^\]]+)\]\(\.\./docs/estimates/{re.escape(name)}\)", PAGE)
    assert len(found) == 1 and len(found[0]) > 40


def test_with_the_jacobian_term_costs_are_off_to_neither_side():
    errors = picture_gyms.errors(picture_gyms.kept())
    assert all(abs(mean) < 0.5 for mean, _, _, _ in errors)
    assert abs(errors[0][2]) > 1 and abs(errors[-1][2]) > 1
    # Most is gained where the clock stops most; on the whole, something everywhere.
    assert errors[-1][1] < errors[-1][3] - 0.5
    assert sum(fitted for _, fitted, _, _ in errors) < sum(without for *_, without in errors)


def test_intervals_of_the_forty_gyms_hold_what_they_promise():
    eighty = picture_gyms.NOMINAL.index(80)
    for name, shares in picture_gyms.covered(picture_gyms.kept()).items():
        assert 76 <= shares[eighty] <= 84, name


def described(name: str) -> str:
    return ElementTree.parse(pictures.FOLDER / name).getroot().find(f"{SVG}desc").text


def test_the_page_tells_what_the_pictures_show():
    text = " ".join(PAGE.split())
    worth = described("worth.svg")
    credit, truth = re.search(r"credit is ([\d.]+), the truth ([\d.]+)\.", worth).groups()
    ranges = re.findall(r"between ([\d.]+) and ([\d]\.\d\d)", worth)
    left = re.search(r"open, (\d+), (\d+), (\d+) and (\d+) percent", worth).groups()
    assert f"from {'-'.join(ranges[0])} to {'-'.join(ranges[-1])}" in text
    assert f"the credit of {credit} and around the truth of {truth}" in text
    assert (
        f"{left[0]} % is still open after 5 results, {left[1]} % after 15, {left[2]} % after 50 "
        f"and {left[3]} % after 150"
    ) in text
    first, last = re.search(
        r"falls from ([\d.]+) to -([\d.]+) percent", described("jacobian.svg")
    ).groups()
    assert f"fall from +{first} to −{last} percent" in text
