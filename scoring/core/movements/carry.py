"""Carries; their usual seconds are those of one metre."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.CARRY)
_add = TABLE.add
_FLOOR = "Clear the way and set the load down before the grip gives out."

_add(
    "farmer carry",
    "0.9",
    "A load in each hand, walk tall with level shoulders and the loads off the legs.",
    load=True,
    gear=("two dumbbells or kettlebells",),
    caution=_FLOOR,
    aka=("farmer's carry", "farmers carry", "farmer walk", "farmer's walk", "farmers walk"),
)
_add(
    "suitcase carry",
    "0.9",
    "A load in one hand, walk tall with level shoulders.",
    load=True,
    sides=Sides.ONE,
    easier=("farmer carry",),
    gear=("dumbbell or kettlebell",),
    caution=_FLOOR,
)
_add(
    "front-rack carry",
    "1",
    "Load at the front of the shoulder, walk tall with ribs down and wrist straight.",
    load=True,
    sides=Sides.EITHER,
    easier=("suitcase carry", "farmer carry"),
    gear=("dumbbell or kettlebell",),
    caution=_FLOOR,
    aka=("rack carry",),
)
_add(
    "overhead carry",
    "1.2",
    "Load above the head on a straight arm, walk tall with ribs down.",
    load=True,
    sides=Sides.EITHER,
    easier=("front-rack carry", "farmer carry"),
    gear=("dumbbell, kettlebell or plate",),
    caution="Lower the load to the shoulder when the arm begins to bend.",
    aka=("overhead walk", "waiter carry"),
)
_add(
    "bear-hug carry",
    "1.1",
    "Load held against the chest with both arms, walk tall without leaning back.",
    load=True,
    easier=("farmer carry",),
    gear=("sandbag or filled backpack",),
    caution=_FLOOR,
    aka=("sandbag carry",),
)
_add(
    "backpack walk",
    "0.7",
    "Load on the back with straps tight, walk tall without a break.",
    load=True,
    gear=("backpack",),
    aka=("ruck", "ruck march"),
)
_add(
    "loaded march",
    "1.2",
    "Load in the hands, each knee rises to hip height on the spot with the trunk upright.",
    load=True,
    sides=Sides.ONE,
    easier=("farmer carry",),
    gear=("dumbbell or kettlebell",),
    aka=("suitcase march", "farmer march"),
)
