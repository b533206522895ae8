"""The part of a board that renews itself, as HTML.

It is written for every change of a board and for everybody who looks, so not by a template,
which would take longer than all the rest of the page.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache

from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape
from django.utils.safestring import SafeString

from scoring.selectors.board_rows import BoardRow
from scoring.selectors.boards import Board

OWN = ' class="own"'
PRESCRIBED = '<span class="tag">as prescribed</span>'
SCALED = '<span class="tag scaled">scaled</span> <span>was {}</span>'


@dataclass(frozen=True, slots=True)
class Around:
    """What stands around the rows: the address of the board's top, what follows it for the
    page before and the page after (empty where there is none), and what says that there is
    no row."""

    top: str
    before: str
    after: str
    is_all: bool
    is_open: bool


def board_part(shown: Board, around: Around) -> SafeString:
    """Rows, the way to other pages, and the viewer's own row where it isn't among them."""
    if shown.page.rows:
        first, last = shown.offset + 1, shown.offset + len(shown.page.rows)
        as_of = timezone.localtime(shown.as_of)
        told = (
            f'<p class="soft">Rows {first} to {last} of {shown.total}, as of {as_of:%H:%M:%S}.</p>'
            f'<ol class="board-list">{items(shown)}</ol>'
        )
    else:
        context = asdict(around) | {"total": shown.total}
        told = render_to_string("scoring/_board_none.html", context)
    links = _link(around.top, around.before, "Places before")
    links += _link(around.top, around.after, "Places after")
    if links:
        told += f'<nav class="row" aria-label="Pages of the board">{links}</nav>'
    if shown.own is not None and shown.own_place is None:
        told += _own(shown.own, shown.total)
    return SafeString(told)


def _link(top: str, query: str, label: str) -> str:
    return f'<a class="button quiet" href="{top}{escape(query)}">{label}</a>' if query else ""


def _own(row: BoardRow, total: int) -> str:
    return (
        f'<div class="stick"><div class="head"><span class="rank">{row.rank}</span> '
        f'<a class="name" href="{_address(row.result_id)}">You, of {total}</a> '
        f'<span class="adjusted">{escape(row.adjusted_text)}</span></div>'
        f'<div class="more">{_done(row)}</div></div>'
    )


def _done(row: BoardRow) -> str:
    return PRESCRIBED if row.as_prescribed else SCALED.format(mark(row.mark_text))


def items(shown: Board) -> SafeString:
    """The items of a board's list. Those of a page are written once for all who see it, the
    viewer's own beside them."""
    kept: list[str] | None = shown.page.kept.get("items")
    if kept is None:
        kept = shown.page.kept["items"] = [item(row) for row in shown.page.rows]
    at = shown.own_place
    if at is None or shown.own is None:
        return SafeString("".join(kept))
    return SafeString("".join((*kept[:at], item(shown.own), *kept[at + 1 :])))


def item(row: BoardRow) -> str:
    """A row: a link that opens its breakdown where the viewer may see that."""
    place, name = f"open-{row.result_id}", escape(row.name)
    if row.can_open:
        href = _address(row.result_id)
        you = " (you)" if row.is_own else ""
        name = SafeString(
            f'<a class="name" href="{href}" hx-get="{href}opened/" hx-target="#{place}" '
            f'data-opens="{place}">{name}{you}</a>'
        )
    else:
        name = SafeString(f'<span class="name">{name}</span>')
    ahead = "" if row.percentile is None else f"<span>ahead of {row.percentile}&nbsp;%</span>"
    return (
        f'<li{OWN if row.is_own else ""}><div class="head">'
        f'<span class="rank">{row.rank}</span> {name} '
        f'<span class="adjusted">{escape(row.adjusted_text)}</span></div>'
        f'<div class="more">{_done(row)} <span>{escape(row.credited)} credited</span> '
        f"<span>{escape(row.pace)} a minute</span> {ahead}</div>"
        f'<div class="opened" id="{place}"></div></li>'
    )


def mark(text: str) -> str:
    """A mark, which may break into lines only behind a slash; as ``c-mark`` has it."""
    words = escape(" ".join(text.split())).replace(" /", "&nbsp;/")
    return f'<span class="mark">{words}</span>'


@lru_cache(maxsize=20_000)
def _address(result_id: int) -> str:
    return reverse("result", args=[result_id])
