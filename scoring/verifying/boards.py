"""Every board equals a recount: its order, its ranks and totals, and what Redis keeps of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice, zip_longest

from redis.exceptions import RedisError

from scoring.boards import VIEWS, BoardStore, Pair, RedisBoards, View, store
from scoring.boards.kept import KeptBoard
from scoring.boards.redis import prefix_of
from scoring.models import StreamedClass
from scoring.selectors.board_rows import ordered

from .finding import CannotVerify, Finding, Looked
from .recount import Placed, recount
from .scope import Scope

ASKED = 200
"""A store is asked for so many places of a view, spread over it: counting one in the database
reads the whole view, so all of a large one would take days."""

AT_ONCE = 50

Counts = tuple[int, list[tuple[int, int]]]
"""A view's total, and of some entries how many are better and how many level."""


def demand_store() -> None:
    """Raises ``CannotVerify`` where the board store is Redis and doesn't answer."""
    kept_by = store()
    if isinstance(kept_by, RedisBoards):
        try:
            kept_by.kept(0).version()
        except RedisError as error:
            raise CannotVerify(
                f"Redis does not answer ({type(error).__name__}): start it, or set REDIS_URL."
            ) from error


def _batched(entries: Iterable[Placed], size: int) -> Iterator[list[Placed]]:
    rest = iter(entries)
    while some := list(islice(rest, size)):
        yield some


def _named(streamed: StreamedClass, view: View) -> str:
    return f"board of class {streamed.pk}, view {view}"


def board_orders(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """The rows that pages and the API list stand in the order of the recount, and inside a tie
    by name."""
    for streamed in scope.classes():
        for view in VIEWS:
            looked.counts["views of boards"] += 1
            shown = ordered(streamed, view).values_list(
                "key", "tie_key", "result__member__display_name"
            )
            both = zip_longest(recount(streamed.pk, view), shown.iterator(chunk_size=1000))
            before: tuple[Pair, tuple[str, str]] | None = None
            for place, (counted, row) in enumerate(both, start=1):
                if counted is None or row is None or row[:2] != (counted.key, counted.tie_key):
                    yield _out_of_order(streamed, view, place)
                    break
                now = (row[:2], (row[2].casefold(), row[2]))
                if before is not None and before[0] == now[0] and before[1] > now[1]:
                    yield _out_of_order(streamed, view, place)
                    break
                before = now


def _out_of_order(streamed: StreamedClass, view: View, place: int) -> Finding:
    return Finding(
        "board-order", _named(streamed, view),
        f"row {place} is not the one that stands there when counted anew",
        "report it: the list and the recount read the same rows",
    )  # fmt: skip


def told_ranks(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """Ranks, ties and totals as the store in use tells them are those of the recount."""
    kept_by = store()
    for streamed in scope.classes():
        for view in VIEWS:
            wanted, total = _spread(streamed.pk, view)
            for some in _batched(wanted, AT_ONCE):
                if isinstance(kept_by, RedisBoards):
                    found = _kept_counts(kept_by.kept(streamed.pk), streamed, view, some)
                else:
                    found = _told_counts(kept_by, streamed, view, some)
                if found is None:
                    break
                there, places = found
                looked.counts["ranks asked of the board store"] += len(some)
                right = [(entry.rank - 1, entry.equal) for entry in some]
                wrong = sum(a != b for a, b in zip(places, right, strict=True))
                if wrong or there != total:
                    yield _wrong_rank(streamed, view, there, total, wrong)
                    break


def _told_counts(
    kept_by: BoardStore, streamed: StreamedClass, view: View, entries: list[Placed]
) -> Counts:
    pairs = [(entry.key, entry.tie_key) for entry in entries]
    told = kept_by.standings(streamed, pairs, view)
    places = [told.places[pair] for pair in pairs]
    return told.total, [(place.rank - 1, place.equal) for place in places]


def _kept_counts(
    kept: KeptBoard, streamed: StreamedClass, view: View, entries: list[Placed]
) -> Counts | None:
    """``None`` where the sets are not of the class's version: they are derived anew when next
    asked for, or moved on while they were looked at."""
    if kept.version() != streamed.board_version:
        return None
    told = kept.counted(view, [prefix_of(entry.key, entry.tie_key) for entry in entries])
    return told if kept.version() == streamed.board_version else None


def _wrong_rank(streamed: StreamedClass, view: View, told: int, total: int, wrong: int) -> Finding:
    return Finding(
        "board-ranks", _named(streamed, view),
        f"the store tells {told} entries, there are {total}; {wrong} ranks are not those counted "
        "anew", f"manage.py rescore --class {streamed.pk} makes the store forget it",
    )  # fmt: skip


def _spread(class_id: int, view: View) -> tuple[list[Placed], int]:
    """Entries spread over a view, the first and the last among them, and how many it has."""
    picked: list[Placed] = []
    last: Placed | None = None
    for number, entry in enumerate(recount(class_id, view)):
        if number % max(1, entry.total // ASKED) == 0:
            picked.append(entry)
        last = entry
    if last is not None and picked[-1] != last:
        picked.append(last)
    return picked, last.total if last else 0


def kept_boards(scope: Scope, looked: Looked) -> Iterator[Finding]:
    """What Redis keeps of a class is its scores, entry for entry, in the order of the recount.

    Only where it says that it is of the class's version: else it is derived anew when next
    asked for, and shown to nobody before.
    """
    kept_by = store()
    if not isinstance(kept_by, RedisBoards):
        return
    for streamed in scope.classes():
        yield from _kept(kept_by, streamed, looked)


def _kept(kept_by: RedisBoards, streamed: StreamedClass, looked: Looked) -> Iterator[Finding]:
    kept = kept_by.kept(streamed.pk)
    version = kept.version()
    if version is None:
        return
    if version != streamed.board_version:
        looked.notes.append(
            f"Redis keeps version {version} of the board of class {streamed.pk}, which is at "
            f"{streamed.board_version}: it is derived anew when next asked for."
        )
        return
    looked.counts["boards kept in Redis"] += 1
    found = []
    for view in VIEWS:
        counted = (_entry(entry) for entry in recount(streamed.pk, view))
        both = zip_longest(counted, kept.members(view))
        for place, (wanted, there) in enumerate(both, start=1):
            if wanted != there:
                found.append((view, f"entry {place} is {there}, and should be {wanted}"))
                break
    if wrong := _forgotten(kept_by, streamed):
        found.append(("all", wrong))
    if kept.version() != version:
        looked.notes.append(f"The board of class {streamed.pk} moved on while it was looked at.")
        return
    for view, detail in found:
        yield Finding(
            "board-kept", _named(streamed, view), detail,
            f"manage.py rescore --class {streamed.pk} makes Redis forget it",
        )  # fmt: skip


def _entry(placed: Placed) -> str:
    """An entry of a set, as Redis should keep it."""
    return f"{prefix_of(placed.key, placed.tie_key)}:{placed.result_id}"


def _forgotten(kept_by: RedisBoards, streamed: StreamedClass) -> str:
    """What is remembered by result, so that the next score replaces it, told if it is wrong."""
    kept, count = kept_by.kept(streamed.pk), 0
    for some in _batched(recount(streamed.pk, "all"), 1000):
        count += len(some)
        there = kept.remembered([entry.result_id for entry in some])
        for entry, told in zip(some, there, strict=True):
            if told != _entry(entry):
                return f"of result {entry.result_id} it remembers {told}"
    if (told_count := kept.remembered_count()) != count:
        return f"it remembers {told_count} results of {count}"
    return ""
