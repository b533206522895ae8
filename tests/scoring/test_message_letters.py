"""How a message looks on its way: its parts, its headers, and what can't get into them."""

import re
from email import message_from_bytes, policy

import pytest
from django.db import connection
from django.test import Client

from scoring.messages import due
from scoring.models import MessageSettings

from .classes import make_class
from .mail import NOON, prove, send_all


@pytest.fixture
def mail(people, mailoutbox, settings):
    settings.SITE_URL = "https://board.example.org"
    prove(people.ana)
    streamed = make_class(people, note="Bring <b>water</b> & a mat")
    due.opened(class_id=streamed.pk, now=NOON)
    send_all()
    return mailoutbox[0]


def test_a_message_is_plain_text_and_html_without_anything_from_elsewhere(mail):
    parsed = message_from_bytes(mail.message().as_bytes(), policy=policy.default)
    assert parsed.get_content_type() == "multipart/alternative"
    # RFC 2046, section 5.1.4: the plainest first, the richest last.
    assert [part.get_content_type() for part in parsed.iter_parts()] == ["text/plain", "text/html"]
    text, html = (part.get_content() for part in parsed.iter_parts())
    assert "Bring <b>water</b> & a mat" in text
    assert "Bring &lt;b&gt;water&lt;/b&gt; &amp; a mat" in html
    assert not re.search(r"<(img|script|link|iframe|style)|url\(|\ssrc=|@import|\son\w+=", html)
    links = re.findall(r'href="([^"]+)"', html)
    assert len(links) == 3
    for link in links:
        assert link.startswith("https://board.example.org/") and link in text


def test_a_message_can_be_stopped_by_one_click_of_a_mail_program(mail, people):
    # RFC 8058, section 3.1: both headers, an HTTPS address in angle brackets (RFC 2369).
    raw = mail.message().as_bytes()
    assert b"\nList-Unsubscribe: <https" in raw  # on one line
    parsed = message_from_bytes(raw, policy=policy.default)
    assert parsed["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    (address,) = re.fullmatch(r"<(https://\S+)>", parsed["List-Unsubscribe"]).groups()
    assert address in mail.body
    path = address.removeprefix("https://board.example.org")
    program = Client(enforce_csrf_checks=True)
    answer = program.post(
        path, "List-Unsubscribe=One-Click", content_type="application/x-www-form-urlencoded"
    )
    assert answer.status_code == 200
    assert not MessageSettings.objects.get(member=people.ana).opened


def test_nothing_answers_a_message_by_itself_and_no_name_stands_in_its_address(mail, people):
    assert mail.extra_headers["Auto-Submitted"] == "auto-generated"
    assert mail.to == [people.ana.user.email] and mail.cc == mail.bcc == []


def test_a_title_is_one_line_of_a_subject(people, mailoutbox):
    prove(people.ana)
    # The notation reads a title from one line; a row could still hold anything.
    streamed = make_class(people)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE scoring_workout SET title = %s", ["A\nBcc: x@y.z"])
    due.opened(class_id=streamed.pk, now=NOON)
    assert send_all() == ["sent"]
    assert mailoutbox[0].subject == "A Bcc: x@y.z is open"
