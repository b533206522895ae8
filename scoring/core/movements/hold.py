"""Holds; their usual seconds are those of one whole hold."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.HOLD)
_add = TABLE.add
_BREATHE = "Keep breathing; ask a professional first with high blood pressure."
_BAR = "Check that the bar is firmly mounted before hanging from it."

_add(
    "plank",
    "30",
    "On forearms and toes, one line from head to heels for the whole time.",
    easier=("knee plank",),
    caution=_BREATHE,
    aka=("plank hold", "front plank", "forearm plank", "elbow plank"),
)
_add(
    "knee plank",
    "30",
    "On forearms and knees, one line from head to knees for the whole time.",
    caution=_BREATHE,
    aka=("kneeling plank",),
)
_add(
    "straight-arm plank",
    "30",
    "On hands and toes, arms straight under the shoulders and one line from head to heels.",
    easier=("plank", "knee plank"),
    caution=_BREATHE,
    aka=("high plank", "push-up hold", "front support"),
)
_add(
    "side plank",
    "20",
    "On one forearm and the feet, hips lifted into one line for the whole time.",
    sides=Sides.ONE,
    easier=("knee side plank",),
    caution=_BREATHE,
)
_add(
    "knee side plank",
    "20",
    "On one forearm and the knees, hips lifted into one line for the whole time.",
    sides=Sides.ONE,
)
_add(
    "reverse plank",
    "20",
    "Face up on hands and heels, hips lifted into one line for the whole time.",
    easier=("bridge hold",),
    caution="Rest the wrists, or take the bridge, if they or the shoulders hurt.",
)
_add(
    "hollow hold",
    "20",
    "Low back pressed down, shoulders and long legs off the floor for the whole time.",
    easier=("tuck hold",),
    caution="Tuck the knees if the low back leaves the floor or hurts.",
    aka=("hollow body hold",),
)
_add(
    "tuck hold",
    "20",
    "Low back pressed down, shoulders up and knees over the hips for the whole time.",
)
_add(
    "prone arch hold",
    "20",
    "Face down, chest, arms and legs stay off the floor for the whole time.",
    aka=("arch hold", "superman hold"),
)
_add(
    "bridge hold",
    "30",
    "Feet flat, hips lifted into a line from knee to shoulder for the whole time.",
    load=True,
    aka=("glute bridge hold",),
)
_add(
    "wall sit",
    "30",
    "Back on the wall and thighs level, hands off the legs, for the whole time.",
    load=True,
    easier=("high wall sit",),
    gear=("wall",),
    caution="Sit higher if the knees hurt. " + _BREATHE,
)
_add(
    "high wall sit",
    "30",
    "Back on the wall and knees bent about halfway for the whole time.",
    gear=("wall",),
)
_add(
    "squat hold",
    "20",
    "Hips stay below the knees with heels down and chest up for the whole time.",
    load=True,
    easier=("high wall sit",),
)
_add(
    "split squat hold",
    "20",
    "Feet staggered, rear knee a hand off the floor for the whole time.",
    load=True,
    sides=Sides.ONE,
    easier=("high wall sit",),
    aka=("lunge hold",),
)
_add(
    "dead hang",
    "20",
    "Hang from the bar on straight arms with the feet off the floor for the whole time.",
    easier=("foot-assisted hang",),
    gear=("pull-up bar",),
    caution=_BAR,
    aka=("hang", "bar hang"),
)
_add(
    "foot-assisted hang",
    "20",
    "Hang from the bar on straight arms with the toes taking some of the weight.",
    gear=("pull-up bar", "box"),
    caution=_BAR,
)
_add(
    "chin-over-bar hold",
    "15",
    "The chin stays above the bar without resting on it for the whole time.",
    easier=("dead hang", "foot-assisted hang"),
    gear=("pull-up bar",),
    caution=_BAR,
)
_add(
    "handstand hold",
    "20",
    "Heels on the wall, arms straight and ears between them for the whole time.",
    easier=("pike hold", "straight-arm plank"),
    gear=("wall",),
    caution="Not with high blood pressure, eye trouble or neck pain: take a plank instead.",
    aka=("wall handstand",),
)
_add(
    "pike hold",
    "20",
    "Hands and feet on the floor, hips high and arms straight for the whole time.",
    easier=("straight-arm plank",),
    caution="Not with high blood pressure or eye trouble: take a plank instead.",
)
_add(
    "overhead hold",
    "20",
    "Load above the head on a straight arm with ribs down for the whole time.",
    load=True,
    sides=Sides.EITHER,
    gear=("dumbbell, kettlebell or plate",),
    caution="Lower the load in good time, well before the arm tires.",
)
_add(
    "l-sit",
    "10",
    "Hands press the body up while both straight legs stay level for the whole time.",
    easier=("tuck hold",),
    gear=("two dumbbells, blocks or chairs",),
    caution="Check that the supports cannot tip.",
)
