"""Sending one message: take it, find its words, hand it over, say so. At most once."""

from __future__ import annotations

import logging
import smtplib
from collections.abc import Callable
from datetime import datetime

from django.core.mail import get_connection

from scoring.models import Message
from scoring.selectors.messages import proven_address

from . import outbox
from .contents import letter_of
from .letters import Email, email_of

logger = logging.getLogger(__name__)

State = Message.State

# A server that answered with one of these has not taken the message.
_REFUSALS = (smtplib.SMTPSenderRefused, smtplib.SMTPRecipientsRefused, smtplib.SMTPDataError)


def send(*, pk: int, clock: Callable[[], datetime]) -> str:
    """Send a message if it waits, is due, and its member's clock is not in quiet hours.

    Answers the state it is in afterwards; empty if there is none. ``clock`` tells the time.
    """
    message = (
        Message.objects.select_related("member__gym", "member__user", "member__message_settings")
        .filter(pk=pk)
        .first()
    )
    if message is None:
        return ""
    now = clock()
    if message.state == State.WAITING:
        # Quiet hours may have begun, or been moved, since it was made.
        loud = outbox.loud_from(message.member, now)
        if loud > now:
            outbox.postpone(pk=pk, until=max(loud, message.not_before))
        elif outbox.claim(pk=pk, now=now):
            _send_taken(message, clock)
    message.refresh_from_db(fields=["state"])
    return message.state


def _send_taken(message: Message, clock: Callable[[], datetime]) -> None:
    try:
        mail = _mail(message, clock())
    except Exception as error:
        # Nothing went out, but trying again would fail the same way.
        logger.exception("message %s could not be written", message.pk)
        outbox.finish(pk=message.pk, state=State.FAILED, now=clock(), fault=_said(error))
        return
    if mail is None:
        outbox.finish(pk=message.pk, state=State.DROPPED, now=clock())
        return
    connection = get_connection()
    try:
        connection.open()
    except Exception as error:  # whatever it is, no message has left yet
        logger.warning("message %s waits: no mail server, %s", message.pk, _said(error))
        outbox.put_back(message=message, now=clock(), fault=_said(error))
        return
    try:
        mail.connection = connection
        mail.send()
    except _REFUSALS as error:
        if _is_for_now(error):
            outbox.put_back(message=message, now=clock(), fault=_said(error))
        else:
            outbox.finish(pk=message.pk, state=State.FAILED, now=clock(), fault=_said(error))
        logger.warning("message %s was refused: %s", message.pk, _said(error))
    except Exception as error:
        # The line broke somewhere in the middle: it may be out, so it is not sent again.
        logger.exception("message %s: %s", message.pk, outbox.UNKNOWN)
        fault = f"{outbox.UNKNOWN} {_said(error)}"
        outbox.finish(pk=message.pk, state=State.FAILED, now=clock(), fault=fault)
    else:
        outbox.finish(pk=message.pk, state=State.SENT, now=clock())
    finally:
        _close(connection)


def _mail(message: Message, now: datetime) -> Email | None:
    member = message.member
    address = proven_address(member=member)
    if address is None or not outbox.settings_of(member).wants(message.kind):
        return None
    letter = letter_of(message, now=now)
    return None if letter is None else email_of(message=message, letter=letter, address=address)


def _close(connection: object) -> None:
    try:
        connection.close()  # type: ignore[attr-defined]
    except Exception:
        logger.info("the mail server did not say goodbye")


def _is_for_now(error: Exception) -> bool:
    """Whether a server said “not now” and not “never”: codes from 400 to 499 (RFC 5321)."""
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return all(400 <= code < 500 for code, _ in error.recipients.values())
    code = getattr(error, "smtp_code", 0)
    return isinstance(code, int) and 400 <= code < 500


def _said(error: Exception) -> str:
    """What went wrong, without the address: servers like to repeat it."""
    code = getattr(error, "smtp_code", "")
    return f"{type(error).__name__} {code}".strip()
