"""Squats."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.SQUAT)
_add = TABLE.add
_BACK = "Set the load down as soon as the low back rounds or hurts."

_add(
    "air squat",
    "1.8",
    "Hips drop below the top of the knees with heels down, then knees and hips straighten fully.",
    easier=("box squat",),
    aka=("bodyweight squat",),
)
_add(
    "box squat",
    "2.5",
    "Sit back until the hips touch the box or chair, then stand until knees and hips are straight.",
    load=True,
    easier=("chair stand",),
    gear=("box",),
    aka=("chair squat",),
)
_add(
    "chair stand",
    "3",
    "Rise from a chair to a full stand, with hands helping as needed, and sit down slowly.",
    gear=("chair",),
    caution="Put the chair against a wall so that it cannot slide.",
    aka=("sit-to-stand",),
)
_add(
    "goblet squat",
    "2.5",
    "Load held at the chest, hips below the knees with heels down, then stand up straight.",
    load=True,
    easier=("air squat", "box squat"),
    gear=("dumbbell or kettlebell",),
    caution=_BACK,
)
_add(
    "front squat",
    "3",
    "Load on the front of the shoulders, hips below the knees, then stand up straight.",
    load=True,
    easier=("goblet squat", "air squat"),
    gear=("barbell, dumbbells or kettlebells",),
    caution=_BACK,
)
_add(
    "back squat",
    "3.2",
    "Bar across the upper back, hips below the knees with heels down, then stand up straight.",
    load=True,
    easier=("goblet squat", "air squat"),
    gear=("barbell", "rack"),
    caution="Use safety arms or a load that can be let go of alone. " + _BACK,
)
_add(
    "overhead squat",
    "3.5",
    "Load held over the middle of the feet on straight arms from the squat below the knees to "
    "the full stand.",
    load=True,
    easier=("front squat", "goblet squat"),
    gear=("barbell or dumbbell",),
    caution="Needs free shoulders and ankles: take an easier squat if the load drifts forward.",
)
_add(
    "sumo squat",
    "2.5",
    "Feet wide and turned out, hips sink to knee height with knees over toes, then stand up "
    "straight.",
    load=True,
    easier=("air squat",),
    aka=("wide squat",),
)
_add(
    "tempo squat",
    "6",
    "Go down over three seconds to below the knees, pause, and stand up straight.",
    load=True,
    easier=("air squat",),
    aka=("slow squat",),
)
_add(
    "pause squat",
    "4.5",
    "Stay still for two seconds with the hips below the knees, then stand up straight.",
    load=True,
    easier=("air squat",),
)
_add(
    "squat pulse",
    "1",
    "From a deep squat rise a hand's width and sink again, heels down throughout.",
    easier=("air squat",),
)
_add(
    "banded squat",
    "2.2",
    "Knees press out against the band all the way down below the knees and up to a straight stand.",
    easier=("air squat",),
    gear=("band",),
    aka=("band squat",),
)
_add(
    "single-leg squat",
    "4",
    "On one leg, hip below the knee with the heel down, then stand up straight without the other "
    "foot touching.",
    sides=Sides.ONE,
    easier=("single-leg box squat", "air squat"),
    caution="Hold a doorway or take the box if the knee falls inwards or hurts.",
    aka=("one-leg squat", "pistol squat", "pistol"),
)
_add(
    "single-leg box squat",
    "3.5",
    "On one leg, sit back onto the box under control and stand up straight on the same leg.",
    sides=Sides.ONE,
    easier=("box squat", "chair stand"),
    gear=("box",),
    aka=("one-leg box squat",),
)
_add(
    "heel-raised squat",
    "2.5",
    "Heels on plates or a book, hips below the knees, then stand up straight.",
    load=True,
    easier=("air squat",),
    gear=("plates or a thick book",),
    aka=("heels-elevated squat",),
)
_add(
    "squat",
    "2.2",
    "Hips drop below the top of the knees with heels down, then knees and hips straighten fully.",
    load=True,
    easier=("air squat", "box squat"),
    caution=_BACK,
)
