"""Cardio machines; their usual seconds are those of one calorie on the display."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.MACHINE)
_add = TABLE.add
_SET = "Start easy, and stop for chest pain, dizziness or unusual shortness of breath."

_add(
    "row",
    "4.5",
    "The machine's own count from zero, with legs, trunk and arms in that order on each stroke.",
    easier=("easy row",),
    gear=("rowing machine",),
    caution=_SET,
    aka=("rowing", "rower", "machine row"),
)
_add(
    "easy row",
    "7",
    "The machine's own count from zero at a pace at which one could still talk.",
    gear=("rowing machine",),
    caution=_SET,
)
_add(
    "bike",
    "5",
    "The machine's own count from zero, seated or standing.",
    easier=("easy bike",),
    gear=("exercise bike",),
    caution=_SET,
    aka=("cycle", "exercise bike", "stationary bike", "bike erg"),
)
_add(
    "easy bike",
    "8",
    "The machine's own count from zero at a pace at which one could still talk.",
    gear=("exercise bike",),
    caution=_SET,
    aka=("easy cycle",),
)
_add(
    "air bike",
    "4.5",
    "The machine's own count from zero with arms and legs at work.",
    easier=("bike", "easy bike"),
    gear=("air bike",),
    caution=_SET,
    aka=("fan bike",),
)
_add(
    "ski machine",
    "5",
    "The machine's own count from zero, hands from above the head past the hips on each stroke.",
    easier=("easy row",),
    gear=("ski machine",),
    caution=_SET,
    aka=("machine ski", "ski"),
)
_add(
    "treadmill run",
    "5",
    "The machine's own count from zero with the hands off the rails.",
    easier=("treadmill walk",),
    gear=("treadmill",),
    caution="Clip on the safety cord. " + _SET,
)
_add(
    "treadmill walk",
    "9",
    "The machine's own count from zero with one foot always on the belt.",
    gear=("treadmill",),
    caution="Clip on the safety cord. " + _SET,
)
_add(
    "cross-trainer",
    "6",
    "The machine's own count from zero with the feet on the plates throughout.",
    easier=("treadmill walk",),
    gear=("cross-trainer",),
    caution=_SET,
    aka=("elliptical",),
)
_add(
    "stepper",
    "6",
    "The machine's own count from zero with the hands only resting on the rails.",
    sides=Sides.ONE,
    easier=("treadmill walk",),
    gear=("stepper",),
    caution=_SET,
    aka=("stair machine",),
)
