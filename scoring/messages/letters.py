"""A message's words as an e-mail: plain text, HTML, and the headers that stop it."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string

from scoring.models import Message, MessageKind

from .links import unsubscribe_address, whole


@dataclass(frozen=True, slots=True)
class Letter:
    """What a message says: sentences, then lines of a list, then where to go on."""

    subject: str
    sentences: tuple[str, ...]
    link: str
    link_words: str
    lines: tuple[str, ...] = ()


class Email(EmailMultiAlternatives):
    """An e-mail whose headers stay on one line each.

    Folded at 78 signs the long address to stop a message by would stand on a line below its
    name, which some mail programs don't find; up to 998 are allowed (RFC 5322, 2.1.1).
    """

    def message(self, **kwargs: Any) -> Any:
        made = super().message(**kwargs)
        made.policy = made.policy.clone(max_line_length=998)
        return made


def email_of(*, message: Message, letter: Letter, address: str) -> Email:
    """The e-mail, ready to be sent to an address."""
    kind = MessageKind(message.kind)
    stop = unsubscribe_address(message.member, kind)
    context = {
        "letter": letter,
        "gym": message.member.gym.name,
        "kind": kind.label,
        "stop": stop,
        "settings": whole("my-messages"),
    }
    mail = Email(
        subject=" ".join(letter.subject.split()),
        body=render_to_string("scoring/mail/letter.txt", context),
        to=[address],
        headers={
            # RFC 8058, section 3.1: both, and the address within angle brackets (RFC 2369).
            "List-Unsubscribe": f"<{stop}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
            # RFC 3834, section 5: no “I am on holiday” comes back.
            "Auto-Submitted": "auto-generated",
            "Message-ID": _message_id(message),
        },
    )
    mail.attach_alternative(render_to_string("scoring/mail/letter.html", context), "text/html")
    return mail


def _message_id(message: Message) -> str:
    """The same for the same row, so that even a mailbox sees one message in two copies."""
    made = f"{settings.SECRET_KEY}.{message.pk}.{message.created_at.timestamp()}"
    host = urlsplit(settings.SITE_URL).hostname or "localhost"
    return f"<{sha256(made.encode()).hexdigest()[:24]}@{host}>"
