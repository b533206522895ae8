"""Classes compared by what they have in common, for coaches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from members.models import Membership
from scoring import access
from scoring.core.comparing import Estimate, mean
from scoring.core.grouping import Middle, Share, differ, middle_of, share_of
from scoring.core.levels import Levels, levels
from scoring.models import StreamedClass

from .compare_asked import Asked
from .compare_keys import Key, key_of
from .compare_read import Held, read_held

Tries = dict[int, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Measures:
    """``logged``: of those who usually come, how many logged. ``prescribed``: of results, how
    many as prescribed. ``effort``: 0 to 10. ``pace``: the logarithm of the pace beside the
    same members' own mean over the period. ``None``, or of no value, without anything to say
    it from."""

    logged: Share | None
    prescribed: Share | None
    effort: Middle | None
    pace: Estimate


@dataclass(frozen=True, slots=True)
class Group:
    """Classes with something in common. ``results`` counts all that were logged by
    ``members`` people, ``expected`` those who usually come, each once a class. ``differs``
    says by measure how the group stands to all the others, see ``grouping.differ``.
    ``fresh`` counts classes that are open and began within a day: of those it can't be said
    yet who logged, so they are left out of that share (``open`` in ``differs``).
    ``pace_by`` tells whether its pace is counted from ``members`` or from ``workouts``."""

    key: Key
    classes: tuple[StreamedClass, ...]
    results: int
    members: int
    expected: int
    fresh: int
    measures: Measures
    differs: Mapping[str, str]
    pace_by: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Groups in their own order, and all of them together."""

    asked: Asked
    groups: list[Group]
    whole: Group | None


def compare(*, viewer: Membership, asked: Asked, now: datetime) -> Comparison | None:
    """For coaches; ``None`` for others."""
    if not access.may_manage_gym(viewer):
        return None
    held = read_held(viewer=viewer, asked=asked, now=now)
    if not held:
        return Comparison(asked, [], None)
    found = levels(
        (h.streamed.pk, t.member, t.pace) for h in held for t in h.told if t.pace is not None
    )
    # What a class or a week was like, its own members tell. What an hour or a coach is like
    # can only be told from workout to workout, since a workout alone moves all who do it.
    pace_by = "members" if asked.by in ("class", "week") else "workouts"
    parts: dict[Key, list[Held]] = {}
    for each in held:
        parts.setdefault(key_of(each, asked.by), []).append(each)
    whole = _Sums(held, found, pace_by)
    groups = []
    for key in sorted(parts, key=lambda key: key.order):
        own = _Sums(parts[key], found, pace_by)
        mine, rest = own.measures(), (whole - own).measures()
        differs = {
            name: differ(getattr(mine, name), getattr(rest, name))
            for name in ("logged", "prescribed", "effort", "pace")
        }
        if all(each.is_fresh for each in parts[key]):
            mine = _Sums(parts[key], found, pace_by, with_fresh=True).measures()
            differs["logged"] = "open"
        groups.append(_group(key, parts[key], mine, differs, pace_by))
    if asked.by in ("class", "week"):
        groups.reverse()
    together = _group(Key((), "All together"), held, whole.measures(), {}, pace_by)
    return Comparison(asked, groups, together)


def _group(
    key: Key, held: list[Held], measures: Measures, differs: Mapping[str, str], pace_by: str
) -> Group:
    return Group(
        key=key,
        classes=tuple(each.streamed for each in held),
        results=sum(len(each.told) for each in held),
        members=len({told.member for each in held for told in each.told}),
        expected=sum(len(each.usual) for each in held),
        fresh=sum(each.is_fresh for each in held),
        measures=measures,
        differs=differs,
        pace_by=pace_by,
    )


class _Sums:
    """What measures are made of, so that a group can be taken from the whole."""

    def __init__(
        self,
        held: Iterable[Held] = (),
        found: Levels | None = None,
        pace_by: str = "",
        *,
        with_fresh: bool = False,
    ) -> None:
        self.logged: Tries = {}
        self.prescribed: Tries = {}
        self.efforts: list[int] = [0] * 11
        self.paces: dict[object, tuple[float, int]] = {}
        for each in held:
            there = each.logged
            for member in each.usual if with_fresh or not each.is_fresh else ():
                _add(self.logged, member, member in there)
            for told in each.told:
                _add(self.prescribed, told.member, told.prescribed)
                if told.effort is not None:
                    self.efforts[told.effort] += 1
            if found is None or each.streamed.pk not in found.classes:
                continue
            if pace_by == "workouts":
                streamed = each.streamed
                same = (streamed.workout.fingerprint, streamed.weighted)
                self._pace(same, found.classes[streamed.pk])
                continue
            for member, pace in found.found[each.streamed.pk].items():
                self._pace(member, pace)

    def _pace(self, key: object, pace: float) -> None:
        total, count = self.paces.get(key, (0.0, 0))
        self.paces[key] = (total + pace, count + 1)

    def __sub__(self, part: _Sums) -> _Sums:
        rest = _Sums()
        rest.logged = _less(self.logged, part.logged)
        rest.prescribed = _less(self.prescribed, part.prescribed)
        rest.efforts = [a - b for a, b in zip(self.efforts, part.efforts, strict=True)]
        for key, (total, count) in self.paces.items():
            own, times = part.paces.get(key, (0.0, 0))
            if count > times:
                rest.paces[key] = (total - own, count - times)
        return rest

    def measures(self) -> Measures:
        efforts = [effort for effort, count in enumerate(self.efforts) for _ in range(count)]
        return Measures(
            logged=share_of(self.logged),
            prescribed=share_of(self.prescribed),
            effort=middle_of(efforts),
            pace=mean([total / count for total, count in self.paces.values()]),
        )


def _add(tries: Tries, member: int, hit: bool) -> None:
    hits, count = tries.get(member, (0, 0))
    tries[member] = (hits + hit, count + 1)


def _less(whole: Tries, part: Tries) -> Tries:
    rest = {}
    for member, (hits, count) in whole.items():
        own, times = part.get(member, (0, 0))
        if count > times:
            rest[member] = (hits - own, count - times)
    return rest
