"""What results have taught a gym, as coaches read it: costs, classes, how it was made."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

import numpy as np

from scoring.core.estimation.assumptions import LEAST_RESULTS
from scoring.core.estimation.class_verdict import verdict
from scoring.core.estimation.class_words import ClassEffect, Times, effect_of, times_of
from scoring.core.estimation.listing import subject
from scoring.core.estimation.ways import Way
from scoring.models import EstimateRun, StreamedClass
from scoring.snapshots import Z_80

from .estimates import Held
from .written_credits import prescribed_in

SPACE, MINUS = "\N{NO-BREAK SPACE}", "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Cost:
    """Seconds a rep, metre, calorie or second of one way takes the typical member.

    ``low`` to ``high`` holds it with a chance of 80 %. ``before`` is what was held before any
    result: the catalogue's figure, or what it is tied to times the coach's credit. ``used`` is
    in how many results it was done; in few of them ``before`` speaks louder than they do.
    ``classes`` is how many prescribed it.
    """

    way: Way
    seconds: float
    low: float
    high: float
    before: float
    used: int
    tied_to: Way | None
    classes: int = 0

    @property
    def is_from_few(self) -> bool:
        return self.used < LEAST_RESULTS

    @property
    def name(self) -> str:
        """The way in words: ``tuck rock``, ``@ 20/12 kg``, ``as prescribed``."""
        if self.way.option:
            return self.way.label
        return f"@ {self.way.load} kg" if self.way.load else "as prescribed"

    @property
    def note(self) -> str:
        """How a load came to be done: ``as prescribed in 12 classes``."""
        if self.way.option or not self.way.load:
            return ""
        if not self.classes:
            return "taken in place of the prescribed load"
        return f"as prescribed in {self.classes} class{'' if self.classes == 1 else 'es'}"

    @property
    def unit(self) -> str:
        """What it is seconds a …: ``rep``."""
        return self.way.unit.removesuffix("s") if self.way.unit != "seconds" else "second held"


@dataclass(frozen=True, slots=True)
class Taught:
    """A movement with all its ways, as prescribed first."""

    movement: str
    unit: str
    costs: tuple[Cost, ...]

    @property
    def used(self) -> int:
        return sum(cost.used for cost in self.costs)


@dataclass(frozen=True, slots=True)
class Effect:
    """What all in a class had in common beside its workout's reps, in percent more time, and
    the other times of the same workout where there are any."""

    streamed_class: StreamedClass
    own: ClassEffect
    times: Times | None = None

    @property
    def told(self) -> str:
        """How much longer or shorter everything took: ``9 % longer``."""
        percent = round(self.own.percent)
        if not percent:
            return "as long"
        return f"{abs(percent)}{SPACE}% {'longer' if percent > 0 else 'shorter'}"

    @property
    def range(self) -> str:
        """The same as a range: ``6 to 11 %``, ``−5 to 0 %``."""
        low, high = (f"{round(end)}".replace("-", MINUS) for end in (self.own.low, self.own.high))
        return f"{low} to {high}{SPACE}%"

    @property
    def verdict(self) -> str:
        """Whether it was the workout or the day, going by these figures."""
        return verdict(self.own, self.times)


def costs(held: Held) -> list[Cost]:
    """All ways of an estimate, in the order of their keys."""
    return _costs(held, Counter())


def _costs(held: Held, prescribed: Counter[Way]) -> list[Cost]:
    found = held.estimate
    ways = found.ways
    half = Z_80 * np.sqrt(np.clip(np.diag(found.covariance), 0, None))
    return [
        Cost(
            way=way,
            seconds=float(np.exp(found.cost[i])),
            low=float(np.exp(found.cost[i] - half[i])),
            high=float(np.exp(found.cost[i] + half[i])),
            before=float(np.exp(ways.base[i])),
            used=int(found.used[i]),
            tied_to=None if ways.parent[i] < 0 else ways.ways[ways.parent[i]],
            classes=prescribed[way],
        )
        for i, way in enumerate(ways.ways)
    ]


def movements(held: Held, *, gym_id: int) -> list[Taught]:
    """The same by movement, those done most often first, with who prescribed them."""
    listed = _costs(held, prescribed_in(gym_id))

    def of(cost: Cost) -> tuple[str, str]:
        return subject(cost.way)

    found = [
        Taught(*key, tuple(sorted(rows, key=lambda c: (c.tied_to is not None, c.way.key))))
        for key, rows in groupby(sorted(listed, key=of), key=of)
    ]
    return sorted(found, key=lambda each: (-each.used, each.movement, each.unit))


def effects(held: Held, classes: list[StreamedClass]) -> Iterator[Effect]:
    """What each of some classes had in common, beside the other times of its workout; those
    that the estimate knows."""
    prints = {each.workout.fingerprint for each in classes}
    same: dict[str, dict[int, tuple[float, float]]] = {}
    rows = StreamedClass.objects.filter(
        gym__in={each.gym_id for each in classes}, workout__fingerprint__in=prints
    ).order_by("pk")
    for pk, fingerprint in rows.values_list("pk", "workout__fingerprint"):
        at = held.class_at(pk)
        if at is not None:
            found = float(held.estimate.effect[at]), float(held.estimate.effect_variance[at])
            same.setdefault(fingerprint, {})[pk] = found
    for streamed in classes:
        others = dict(same.get(streamed.workout.fingerprint, {}))
        own = others.pop(streamed.pk, None)
        if own is not None:
            yield Effect(streamed, effect_of(*own, 0), times_of(own, list(others.values()), 0))


def last_classes(held: Held, most: int) -> list[StreamedClass]:
    """The newest classes that an estimate counts."""
    newest = held.class_keys[-most:][::-1].tolist()
    rows = StreamedClass.objects.select_related("workout", "gym").in_bulk(newest)
    return [rows[key] for key in newest if key in rows]


def last_run(*, gym_id: int) -> EstimateRun | None:
    """The newest run of a gym's estimates, finished or not."""
    return EstimateRun.objects.filter(gym=gym_id).select_related("by").order_by("-pk").first()


@dataclass(frozen=True, slots=True)
class Working:
    """A run in words, and whether a page that shows it should look again."""

    told: str
    goes_on: bool
    asked_at: datetime


def in_words(run: EstimateRun) -> Working:
    """How far a run is, for a coach."""
    state = EstimateRun.State
    if run.state == state.GATHERING:
        told = f"Reading results: {run.done} of {run.total} classes."
    else:
        told = {
            state.WAITING: "Waiting to begin, within a minute or so.",
            state.FITTING: "All results are read and are being worked out.",
            state.GOOD: "Done.",
            state.UNCHANGED: run.why or "Nothing was new since the last time.",
            state.FAILED: f"It could not be done. {run.why} The last good figures stay.",
        }[EstimateRun.State(run.state)]
    return Working(told, not run.is_finished, run.asked_at)
