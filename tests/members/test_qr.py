"""The picture of an invitation is the one that cameras expect."""

import re

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_M

from members.qr import QUIET, picture

RUN = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")


def drawn(side, path):
    """The modules that a path draws, read back from it."""
    assert RUN.sub("", path) == ""
    rows = [[False] * side for _ in range(side)]
    for x, y, width, back in (map(int, found) for found in RUN.findall(path)):
        assert width == back
        for at in range(x, x + width):
            assert not rows[y][at]  # drawn once
            rows[y][at] = True
    return rows


def expected(text):
    code = QRCode(error_correction=ERROR_CORRECT_M, border=4)
    code.add_data(text)
    code.make(fit=True)
    return code.get_matrix()


@given(st.text("abcdefghijklmnopqrstuvwxyzABCDEFGH0123456789-_./:", min_size=1, max_size=200))
def test_the_path_draws_the_modules_of_the_code_and_no_others(text):
    made = picture(text)
    assert drawn(made.side, made.path) == expected(text)


def test_there_is_a_quiet_edge_around_it():
    made = picture("https://gym.example.org/join/abc/")
    rows = drawn(made.side, made.path)
    edge = [*rows[:QUIET], *rows[-QUIET:], *([*row[:QUIET], *row[-QUIET:]] for row in rows)]
    assert not any(map(any, edge)) and rows[QUIET][QUIET]


@pytest.mark.parametrize("act", [{"act": "invite"}, {"act": "claim"}])
def test_a_new_link_is_shown_as_a_picture_of_the_same_address(client, people, act):
    from members import services

    from ..conftest import NOW

    if act["act"] == "claim":
        entry = services.add_member(by=people.coach, display_name="Paula Paper", now=NOW)
        act = act | {"member": entry.pk}
    client.force_login(people.coach.user)
    page = client.post(reverse("member-list"), act).content.decode()
    link = re.search(r'id="new-link" value="([^"]+)"', page)[1]
    svg = re.search(r'<svg class="qr" viewBox="0 0 (\d+) \1"[^>]*>(.*?)</svg>', page, re.S)
    path = re.search(r'd="([^"]+)"', svg[2])[1]
    assert drawn(int(svg[1]), path) == expected(link)
    assert 'aria-label="The same link as a QR picture"' in svg[0]
    assert "style" not in svg[0] and "fill" not in svg[0]


def test_no_picture_is_there_before_a_link_is(client, people):
    client.force_login(people.coach.user)
    assert 'class="qr"' not in client.get(reverse("member-list")).content.decode()
