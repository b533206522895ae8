"""The lines of an import on its page: which are shown, and what a coach says of one."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest
from django.utils import timezone

from members.keys import is_key
from members.models import Membership
from members.selectors import members_of
from scoring.core.marks import examples
from scoring.core.name_book import NameBook
from scoring.core.told_sheet import COLUMNS
from scoring.mapping import course_of
from scoring.models import ImportLine, ImportRun, State
from scoring.problems import refuse
from scoring.selectors.imports import candidates_of, counts_of, lines_of
from scoring.services.import_mending import mend_line
from scoring.services.import_settling import must_choose

PAGE = 50
ASKED = (ImportLine.State.WRONG, ImportLine.State.DOUBTFUL)
TABS = (
    ("wrong", "Can't be read"),
    ("doubtful", "To confirm"),
    ("good", "Ready"),
    ("saved", "In"),
    ("left", "Changed since"),
    ("undone", "Taken back"),
    ("known", "Already in"),
    ("skipped", "Left out"),
    ("chatter", "No result"),
)
LABELS = {
    "name": "Name", "mark": "Mark", "options": "Done otherwise", "effort": "Effort, 0 to 10",
    "splits": "Clock at the end of a block", "note": "Note",
}  # fmt: skip


def labelled(members: list[Membership]) -> dict[str, int]:
    """Names to choose by, told apart where two are the same, with whose they are."""
    times = Counter(member.display_name for member in members)
    return {
        m.display_name if times[m.display_name] == 1 else f"{m.display_name}, no. {m.pk}": m.pk
        for m in members
    }


def change_line(request: HttpRequest, viewer: Membership, line: ImportLine) -> None:
    """Do what the form of a line asks for. Raises ``Refused``."""
    post = request.POST
    act = post.get("act", "")
    asked: dict[str, Any] = {}
    if "answer" in post:
        asked["answers"] = _answer(line, post["answer"])
    elif "member" in post:
        asked["member"] = _member(line, post["member"])
    elif act == "accept":
        asked["accept"] = True
    elif act in ("skip", "take"):
        asked["skip"] = act == "skip"
    elif act == "new-member":
        asked["new_member"] = post.get("new_name", "")
    elif act == "mend":
        asked = _mended(line, post)
    else:
        raise refuse("act", "That button is not known.", "Reload the page.")
    mend_line(line=line, by=viewer, now=timezone.now(), **asked)


def _answer(line: ImportLine, asked: str) -> dict[str, str]:
    """Which doubt is answered by which of its choices, ``0:1``; ``0:`` leaves the part out."""
    doubt, _, choice = asked.partition(":")
    try:
        found = line.doubts[int(doubt)]
        return {found["part"]: found["choices"][int(choice)] if choice else ""}
    except (ValueError, IndexError):
        raise refuse("answer", "That is not asked any more.", "Look at the line again.") from None


def _member(line: ImportLine, asked: str) -> Membership:
    found = members_of(line.run.gym).filter(pk=int(asked) if is_key(asked) else 0).first()
    if found is None:
        raise refuse("member", "They are not in this gym.", "Choose a name of the list.")
    return found


def _mended(line: ImportLine, post: Any) -> dict[str, Any]:
    names = COLUMNS if line.run.kind == ImportRun.Kind.SHEET else ("text",)
    before = line.cells_now if line.run.kind == ImportRun.Kind.SHEET else {"text": line.text_now}
    changes = {
        name: post[name]
        for name in names
        if name in post and post[name].strip() != before.get(name, "")
    }
    asked: dict[str, Any] = {"changes": changes}
    if who := " ".join(post.get("who", "").split()):
        asked["member"] = _called(line, who)
    return asked


def _called(line: ImportLine, who: str) -> Membership:
    members = list(members_of(line.run.gym))
    pk = labelled(members).get(who)
    if pk is None:
        found = NameBook({m.pk: m.display_name for m in members}).find(who.split())
        pk = found.ids[0] if found.is_sure and found.words == len(who.split()) else None
    member = next((m for m in members if m.pk == pk), None)
    if member is None:
        raise refuse("who", f"It is not clear who {who[:60]!r} is.", "Choose a name of the list.")
    return member


def shown(request: HttpRequest, viewer: Membership, run: ImportRun) -> dict[str, Any]:
    """All that the page of an import shows."""
    counts = counts_of(run)
    asked = (request.POST if request.method == "POST" else request.GET).get("show", "")
    tabs = [(key, label, counts.by_state[key]) for key, label in TABS if counts.by_state[key]]
    known = [key for key, _, _ in tabs]
    show = asked if asked in ("all", *known) else next(iter(known), "all")
    data = request.POST if request.method == "POST" else request.GET
    lines = lines_of(run=run, viewer=viewer, state="" if show == "all" else show)
    page = Paginator(lines, PAGE).get_page(data.get("page"))
    rows: list[ImportLine] = list(page.object_list)
    course = course_of(run.streamed_class)
    is_mendable = run.state in (ImportRun.State.CHECKING, ImportRun.State.DONE)
    is_mendable = is_mendable and run.cleared_at is None
    people = labelled(list(members_of(run.gym))) if is_mendable and rows else {}
    return {
        "run": run,
        "streamed": run.streamed_class,
        "counts": counts,
        "by": counts.by_state,
        "tabs": [*tabs, ("all", "All", counts.total)],
        "show": show,
        "page": page,
        "lines": [_told(line, candidates) for candidates in [candidates_of(rows)] for line in rows],
        "people": people,
        "is_mendable": is_mendable,
        "is_sheet": run.kind == ImportRun.Kind.SHEET,
        "is_closed": run.streamed_class.state == State.CLOSED,
        "is_unsaved": run.state == ImportRun.State.CHECKING and run.finished_at is None,
        "examples": examples(course) if course.blocks else "",
        "reason": request.POST.get("reason", ""),
    }


def _told(line: ImportLine, candidates: dict[int, Membership]) -> dict[str, Any]:
    """A line for its template."""
    doubts = [
        {
            "words": doubt["words"],
            "part": doubt["part"],
            "column": doubt["column"],
            "choices": [(f"{i}:{j}", choice) for j, choice in enumerate(doubt["choices"])],
            "leave": f"{i}:" if doubt["column"] in ("options", "note") else "",
        }
        for i, doubt in enumerate(line.doubts)
    ]
    is_whose_asked = any(doubt["column"] == "member" for doubt in line.doubts)
    who = [candidates[pk] for pk in line.candidates if pk in candidates] if is_whose_asked else []
    cells = line.cells_now
    return {
        "line": line,
        "doubts": doubts,
        "candidates": who[:8],
        "is_guess": is_whose_asked,
        "can_accept": line.state == ImportLine.State.DOUBTFUL and not must_choose(line),
        "is_asked": line.state in ASKED or line.is_skipped,
        "cells": [(name, LABELS[name], cells.get(name, "")) for name in COLUMNS],
        "can_add": not line.member_id and any(p["column"] == "member" for p in line.problems),
        "new_name": line.name[:60].title() if line.name.islower() else line.name[:60],
    }
