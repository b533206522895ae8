"""Who asked to be erased, kept beside the backups, so that no restore brings anybody back.

A backup holds whoever was there when it was made. Every backup therefore writes what became
of each erasure it knows of into ``erasures.json`` in its folder: numbers of accounts, days
and the choice about results; no name and no address. An erasure has days of grace
(``GRACE_DAYS``), so backups made more often than that see each one before it is carried out.
A restore reads the list and does again what had been done by then.

What it can't know: what was asked, taken back or carried out after the last backup, if the
database was lost. Who had asked before and is due by now is erased, as they last asked.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from django.db import transaction

from members.models import User
from scoring.models import Erasure
from scoring.problems import Refused

from .erasing import erase

FILE = "erasures.json"
ASKED, TAKEN_BACK, ERASED = "asked", "taken back", "erased"


@dataclass(frozen=True, slots=True)
class Entry:
    """An erasure as last seen. ``joined`` tells an account from a later one of its number,
    as there may be one after a restore. Times are ISO 8601."""

    account: int
    joined: str
    due: str
    results: str
    state: str
    seen: str

    @property
    def key(self) -> tuple[int, datetime]:
        return self.account, datetime.fromisoformat(self.joined)


@dataclass(slots=True)
class Again:
    """Numbers of accounts: erased again; due, but the last owner of a gym; to be erased on
    their day; not to be erased, since they took it back."""

    erased: list[int] = field(default_factory=list)
    hindered: list[int] = field(default_factory=list)
    asked: list[int] = field(default_factory=list)
    taken_back: list[int] = field(default_factory=list)


def read(folder: Path) -> list[Entry]:
    """The list beside backups; none if there is none. Raises ``ValueError`` if damaged."""
    try:
        told: Any = json.loads((folder / FILE).read_text(encoding="utf-8"))
        return [Entry(**each) for each in told["erasures"]]
    except FileNotFoundError:
        return []
    except (KeyError, TypeError) as error:
        raise ValueError(f"{folder / FILE} is damaged: {error}") from None


def note(*, folder: Path, now: datetime, oldest: datetime | None = None) -> list[Entry]:
    """Bring the list up to the database in use; call it after each backup.

    What ended before ``oldest``, the time of the oldest backup that is kept, is dropped: no
    backup holds them any more.
    """
    pending = {
        (row.user_id, row.user.date_joined): row
        for row in Erasure.objects.select_related("user").order_by("pk")
    }
    entries = {entry.key: entry for entry in read(folder)}
    there = _there(entries)
    for key, entry in entries.items():
        if key in pending:
            continue  # written anew below
        if key in there and entry.state == ASKED:
            entries[key] = replace(entry, state=TAKEN_BACK, seen=now.isoformat())
        elif entry.state == ASKED and key not in there and datetime.fromisoformat(entry.due) <= now:
            entries[key] = replace(entry, state=ERASED, seen=now.isoformat())
    for key, row in pending.items():
        entries[key] = Entry(
            account=key[0],
            joined=key[1].isoformat(),
            due=row.due_at.isoformat(),
            results=row.results,
            state=ASKED,
            seen=now.isoformat(),
        )
    kept = [
        entry
        for entry in entries.values()
        if entry.state == ASKED or oldest is None or datetime.fromisoformat(entry.seen) >= oldest
    ]
    _write(folder, kept)
    return kept


def _there(entries: dict[tuple[int, datetime], Entry]) -> set[tuple[int, datetime]]:
    """Which of the accounts the database has."""
    found = User.objects.filter(pk__in={account for account, _ in entries})
    return set(found.values_list("pk", "date_joined")) & set(entries)


def _write(folder: Path, entries: list[Entry]) -> None:
    part = folder / f".{FILE}-{os.getpid()}"
    text = json.dumps({"erasures": [asdict(entry) for entry in entries]}, indent=1)
    with open(part, "w", encoding="utf-8", opener=lambda p, f: os.open(p, f, 0o600)) as out:
        out.write(text + "\n")
        out.flush()
        os.fsync(out.fileno())
    part.replace(folder / FILE)


def do_again(*, entries: list[Entry], now: datetime) -> Again:
    """After a restore: let what the list tells of be so again.

    Nobody is written to: who was erased has been told, or nobody knows.
    """
    done, known = Again(), {entry.key: entry for entry in entries}
    for key in sorted(_there(known)):
        entry = known[key]
        if entry.state == TAKEN_BACK:
            deleted, _ = Erasure.objects.filter(user=entry.account).delete()
            if deleted:
                done.taken_back.append(entry.account)
            continue
        due = now if entry.state == ERASED else datetime.fromisoformat(entry.due)
        Erasure.objects.update_or_create(
            user_id=entry.account, defaults={"results": entry.results, "due_at": due}
        )
    for row in Erasure.objects.order_by("pk"):
        if row.due_at > now:
            done.asked.append(row.user_id)
            continue
        try:
            with transaction.atomic():
                erase(pk=row.pk, now=now, tell=False)
            done.erased.append(row.user_id)
        except Refused:
            done.hindered.append(row.user_id)
    return done
