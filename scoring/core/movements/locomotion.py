"""Getting about, on two feet or on all fours, and on the spot.

Usual seconds are those of one metre where metres are counted, else of one step.
"""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.LOCOMOTION)
_add = TABLE.add
_WRIST = "Walk on fists, or stay on two feet, if the wrists hurt."
_OUT = "Outdoors mind traffic, ice and the dark."

_add(
    "run",
    "0.3",
    "Cover the whole distance on foot, out and back if need be.",
    easier=("jog", "walk"),
    caution=_OUT,
    aka=("running",),
)
_add(
    "jog",
    "0.4",
    "Cover the whole distance at a pace at which one could still talk.",
    easier=("walk",),
    caution=_OUT,
    aka=("jogging", "easy run"),
)
_add(
    "walk",
    "0.7",
    "Cover the whole distance on foot with one foot always on the ground.",
    caution=_OUT,
    aka=("walking", "brisk walk"),
)
_add(
    "shuttle run",
    "0.5",
    "A hand touches the floor at or beyond the line at each end.",
    easier=("jog", "walk"),
    caution="Leave room to stop before the wall.",
    aka=("shuttle",),
)
_add(
    "stair climb",
    "0.7",
    "Every stair is stepped on with the whole foot on the way up, and the way down is walked.",
    sides=Sides.ONE,
    easier=("march on the spot",),
    gear=("stairs",),
    caution="Keep a hand by the rail and the stairs clear.",
    aka=("stair", "stairs"),
)
_add(
    "high knee",
    "0.4",
    "Running on the spot, each knee rises to hip height.",
    sides=Sides.ONE,
    easier=("march on the spot",),
    aka=("high-knee run", "high knee run"),
)
_add(
    "heel kick",
    "0.4",
    "Running on the spot, each heel rises to the seat.",
    sides=Sides.ONE,
    easier=("march on the spot",),
    aka=("butt kick", "bum kick"),
)
_add(
    "run on the spot",
    "0.4",
    "Each foot leaves the floor in turn with the arms in rhythm.",
    sides=Sides.ONE,
    easier=("march on the spot",),
    aka=("run in place", "running on the spot"),
)
_add(
    "march on the spot",
    "0.6",
    "Each knee rises to hip height in turn with the trunk upright.",
    sides=Sides.ONE,
    aka=("march", "march in place"),
)
_add(
    "side step",
    "0.8",
    "One foot steps out to the side and the other closes to it.",
    sides=Sides.ONE,
    aka=("side shuffle", "lateral shuffle"),
)
_add(
    "bear crawl",
    "1.5",
    "On hands and feet with knees off the floor, opposite hand and foot move together.",
    easier=("knee crawl",),
    caution=_WRIST,
)
_add(
    "knee crawl",
    "1.8",
    "On hands and knees, opposite hand and knee move together.",
    caution=_WRIST,
    aka=("baby crawl",),
)
_add(
    "crab walk",
    "1.8",
    "Face up on hands and feet with the hips off the floor, opposite hand and foot move together.",
    easier=("knee crawl",),
    caution=_WRIST,
)
_add(
    "duck walk",
    "1.5",
    "Each step is taken from a deep squat with the chest up.",
    sides=Sides.ONE,
    easier=("walking lunge", "walk"),
    caution="Leave it out with sore knees.",
)
_add(
    "inchworm",
    "6",
    "Hands walk out to a straight-arm plank and back to the feet, then stand up straight.",
    easier=("march on the spot",),
    caution=_WRIST,
    aka=("walkout", "plank walkout"),
)
_add(
    "wall walk",
    "10",
    "From lying, feet climb the wall until the chest nears it, and come down under control.",
    easier=("inchworm",),
    gear=("wall",),
    caution="Not with high blood pressure, eye trouble or neck pain.",
)
_add(
    "handstand walk",
    "1.5",
    "Travel on the hands alone with the feet off the floor.",
    easier=("wall walk", "bear crawl"),
    caution="Clear the floor all round; not with high blood pressure, eye trouble or neck pain.",
)
