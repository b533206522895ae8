"""Jumps and skipping."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.JUMP)
_add = TABLE.add
_LAND = "Land softly; step in place of jumping with sore joints, in pregnancy or after a birth."
_ROPE = "Clear the ceiling and the floor of what the rope can hit."
_BOX = "Check that the box is stable, and step down."

_add(
    "jumping jack",
    "1",
    "Feet jump wide as the hands meet above the head, and together as they come down.",
    easier=("step jack",),
    caution=_LAND,
    aka=("star jack",),
)
_add(
    "step jack",
    "1.2",
    "One foot steps wide as the hands meet above the head, then both come back.",
    sides=Sides.ONE,
    aka=("low-impact jack",),
)
_add(
    "squat jump",
    "1.8",
    "From hips at knee height both feet leave the floor with hips straight and land softly.",
    easier=("air squat",),
    caution=_LAND,
    aka=("jump squat",),
)
_add(
    "tuck jump",
    "2",
    "Both feet leave the floor, the knees rise to hip height, and the landing is soft.",
    easier=("squat jump", "air squat"),
    caution=_LAND,
)
_add(
    "star jump",
    "2",
    "From a part squat leap with arms and legs spread, and land softly with the feet together.",
    easier=("jumping jack", "step jack"),
    caution=_LAND,
)
_add(
    "jumping lunge",
    "1.6",
    "From a lunge leap and change legs in the air so that the rear knee ends near the floor.",
    sides=Sides.ONE,
    easier=("reverse lunge", "split squat"),
    caution=_LAND,
    aka=("jump lunge", "split jump"),
)
_add(
    "box jump",
    "2.5",
    "Both feet land on the box together and hips and knees straighten on top.",
    easier=("step-up", "low step-up"),
    gear=("box",),
    caution=_BOX,
)
_add(
    "box jump-over",
    "3",
    "Both feet jump onto the box and the body comes down on the other side.",
    easier=("box step-over", "step-up"),
    gear=("box",),
    caution=_BOX,
)
_add(
    "broad jump",
    "3",
    "Both feet leave and land together as far forward as is safe, with a still finish.",
    easier=("squat jump", "air squat"),
    caution=_LAND,
    aka=("long jump", "standing long jump"),
)
_add(
    "lateral hop",
    "0.9",
    "Both feet hop over a line from one side to the other.",
    easier=("side step",),
    caution=_LAND,
    aka=("line hop", "side hop"),
)
_add(
    "skater jump",
    "1.5",
    "Leap sideways from one foot to the other and be steady before the next.",
    sides=Sides.ONE,
    easier=("side step",),
    caution=_LAND,
    aka=("skater", "skater hop"),
)
_add(
    "pogo jump",
    "0.6",
    "Near-straight knees, both feet spring off the floor from the ankles.",
    easier=("calf raise",),
    caution=_LAND,
    aka=("ankle hop",),
)
_add(
    "rope skip",
    "0.5",
    "Both feet clear the rope once for each turn.",
    easier=("pretend rope skip", "calf raise"),
    gear=("skipping rope",),
    caution=_ROPE,
    aka=("single-under", "skip", "jump rope", "skipping", "rope jump"),
)
_add(
    "pretend rope skip",
    "0.5",
    "Wrists turn as if they held a rope and both feet leave the floor at each turn.",
    easier=("calf raise",),
    caution=_LAND,
    aka=("ropeless skip",),
)
_add(
    "running rope skip",
    "0.4",
    "One foot after the other clears the rope, one rep for each turn.",
    sides=Sides.ONE,
    easier=("rope skip", "pretend rope skip"),
    gear=("skipping rope",),
    caution=_ROPE,
    aka=("alternate-foot skip",),
)
_add(
    "double-under",
    "0.7",
    "The rope passes twice under both feet in one jump.",
    easier=("rope skip", "pretend rope skip"),
    gear=("skipping rope",),
    caution=_ROPE,
    aka=("du",),
)
