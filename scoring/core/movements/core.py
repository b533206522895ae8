"""The trunk: sit-ups, rocks, raises and twists."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.CORE)
_add = TABLE.add
_BACK = "Tuck the knees if the low back leaves the floor or hurts."
_SPINE = "Leave it out with a sore back, and ask a professional first if pregnant or after a birth."
_BAR = "Check that the bar is firmly mounted before hanging from it."

_add(
    "sit-up",
    "2",
    "From shoulder blades on the floor the trunk rises until the shoulders pass the hips.",
    easier=("crunch", "dead bug"),
    caution=_SPINE,
    aka=("ab sit-up", "butterfly sit-up"),
)
_add(
    "crunch",
    "1.5",
    "Shoulder blades leave the floor while the low back stays on it.",
    easier=("dead bug",),
)
_add(
    "weighted sit-up",
    "2.6",
    "A load at the chest, the trunk rises from the floor until the shoulders pass the hips.",
    load=True,
    easier=("sit-up", "crunch"),
    gear=("dumbbell or plate",),
    caution=_SPINE,
)
_add(
    "hollow rock",
    "1.4",
    "Low back pressed down, arms and legs long, the body rocks to and fro without changing shape.",
    easier=("tuck rock", "dead bug"),
    caution=_BACK,
)
_add(
    "tuck rock",
    "1.3",
    "Knees held to the chest, the rounded body rocks from shoulders to seat and back.",
    easier=("dead bug",),
)
_add(
    "v-up",
    "2.2",
    "From long on the floor, straight arms and legs meet above the hips.",
    easier=("tuck-up", "crunch"),
    caution=_BACK,
    aka=("jackknife",),
)
_add(
    "tuck-up",
    "2",
    "From long on the floor, chest and bent knees meet above the hips.",
    easier=("crunch", "dead bug"),
    caution=_BACK,
)
_add(
    "single-leg v-up",
    "1.8",
    "From long on the floor, both hands touch one straight raised leg.",
    sides=Sides.ONE,
    easier=("crunch", "dead bug"),
    caution=_BACK,
)
_add(
    "lying leg raise",
    "2.2",
    "On the back, straight legs rise to upright and come down until just off the floor.",
    easier=("lying knee raise", "dead bug"),
    caution=_BACK,
    aka=("leg raise",),
)
_add(
    "lying knee raise",
    "1.8",
    "On the back, bent knees come over the hips and the heels go back to touch the floor.",
    easier=("dead bug",),
    aka=("reverse crunch",),
)
_add(
    "flutter kick",
    "0.6",
    "Low back pressed down, straight legs pass each other in small strokes off the floor.",
    sides=Sides.ONE,
    easier=("lying knee raise", "dead bug"),
    caution=_BACK,
)
_add(
    "scissor kick",
    "0.8",
    "Low back pressed down, straight legs cross over and under each other off the floor.",
    sides=Sides.ONE,
    easier=("lying knee raise", "dead bug"),
    caution=_BACK,
)
_add(
    "bicycle crunch",
    "1.2",
    "One elbow nears the other side's knee while the free leg reaches long off the floor.",
    sides=Sides.ONE,
    easier=("crunch", "dead bug"),
    aka=("bicycle",),
)
_add(
    "seated twist",
    "1.2",
    "Leaning back with a long spine, the hands or load touch the floor beside one hip.",
    load=True,
    sides=Sides.ONE,
    easier=("crunch", "dead bug"),
    caution="Turn from the ribs; put the feet down if the low back aches.",
    aka=("russian twist",),
)
_add(
    "heel touch",
    "1",
    "On the back with feet flat, shoulders up, one hand reaches to touch the same side's heel.",
    sides=Sides.ONE,
    easier=("crunch",),
    aka=("heel tap",),
)
_add(
    "toe touch",
    "1.5",
    "On the back with legs upright, shoulder blades leave the floor and hands reach the toes.",
    easier=("crunch",),
)
_add(
    "dead bug",
    "2.5",
    "Low back pressed down, one arm and the other side's leg reach long and return.",
    sides=Sides.ONE,
    aka=("deadbug",),
)
_add(
    "bird dog",
    "3",
    "On all fours, one arm and the other side's leg reach level with hips square.",
    sides=Sides.ONE,
    aka=("birddog",),
)
_add(
    "mountain climber",
    "0.8",
    "In a straight-arm plank one knee drives under the chest while the hips stay low.",
    sides=Sides.ONE,
    easier=("incline mountain climber", "dead bug"),
)
_add(
    "incline mountain climber",
    "0.9",
    "Hands on a bench in a plank, one knee drives under the chest while the hips stay low.",
    sides=Sides.ONE,
    easier=("dead bug",),
    gear=("bench or chair",),
    caution="Put the bench or chair against a wall so that it cannot slide.",
)
_add(
    "plank shoulder tap",
    "1.3",
    "In a straight-arm plank one hand taps the other shoulder with the hips still.",
    sides=Sides.ONE,
    easier=("bird dog",),
    aka=("shoulder tap",),
)
_add(
    "plank jack",
    "1",
    "In a straight-arm plank both feet jump wide and together with the hips level.",
    easier=("plank shoulder tap", "bird dog"),
)
_add(
    "plank up-down",
    "3",
    "From forearms to straight arms and back, one hand at a time, with the hips still.",
    easier=("plank shoulder tap", "bird dog"),
    aka=("up-down plank", "plank walk-up"),
)
_add(
    "plank drag",
    "2.8",
    "In a straight-arm plank one hand pulls the load under the body to the other side.",
    load=True,
    sides=Sides.ONE,
    easier=("plank shoulder tap", "bird dog"),
    gear=("dumbbell or kettlebell",),
    aka=("plank pull-through",),
)
_add(
    "side plank dip",
    "2",
    "In a side plank the hip sinks to touch the floor and rises to a straight line.",
    sides=Sides.ONE,
    easier=("bird dog",),
)
_add(
    "wood chop",
    "2",
    "Load or band goes across the body from one hip to above the other shoulder on long arms.",
    load=True,
    sides=Sides.ONE,
    easier=("dead bug",),
    gear=("dumbbell or band",),
    aka=("woodchopper",),
)
_add(
    "band anti-rotation press",
    "3",
    "Band pulling from the side, hands go from the chest to straight arms and the trunk stays put.",
    sides=Sides.ONE,
    easier=("dead bug",),
    gear=("band", "anchor"),
    caution="Check that the anchor holds before the first rep.",
)
_add(
    "side bend",
    "2",
    "Load in one hand, bend sideways towards it and come back upright.",
    load=True,
    sides=Sides.ONE,
    gear=("dumbbell or kettlebell",),
    caution="Leave it out with a sore low back.",
)
_add(
    "hanging knee raise",
    "2",
    "From a still hang both knees rise above the hips and come down without a swing.",
    easier=("lying knee raise", "dead bug"),
    gear=("pull-up bar",),
    caution=_BAR,
)
_add(
    "hanging leg raise",
    "2.5",
    "From a still hang straight legs rise to level and come down without a swing.",
    easier=("hanging knee raise", "lying leg raise"),
    gear=("pull-up bar",),
    caution=_BAR,
)
_add(
    "toes-to-bar",
    "2.4",
    "From a hang with heels behind the bar both feet touch it at the same time.",
    easier=("hanging knee raise", "v-up"),
    gear=("pull-up bar",),
    caution=_BAR,
    aka=("toe-to-bar", "t2b"),
)
_add(
    "kneeling roll-out",
    "3.5",
    "From the knees the wheel or bar rolls away with a braced trunk and comes back under the "
    "shoulders.",
    easier=("dead bug",),
    gear=("wheel or loaded barbell",),
    caution="Roll only as far as the low back does not sag.",
    aka=("ab roll-out",),
)
