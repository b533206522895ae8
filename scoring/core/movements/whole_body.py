"""Movements of the whole body."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.WHOLE_BODY)
_add = TABLE.add
_BACK = "Keep the back long; end the set when it rounds or hurts."
_OVERHEAD = "Take a lighter load if the shoulder hurts or the arm cannot straighten."
_FLOOR = "Step in place of jumping, or use a bench, with sore wrists or dizziness."

_add(
    "burpee",
    "4",
    "Chest and thighs touch the floor, then both feet leave it with hips straight and hands up.",
    easier=("step-back burpee", "incline burpee"),
    caution=_FLOOR,
)
_add(
    "step-back burpee",
    "5",
    "Step back and lie down with chest and thighs on the floor, step in, and stand up tall.",
    easier=("incline burpee", "squat thrust"),
    caution=_FLOOR,
    aka=("step-out burpee", "no-jump burpee"),
)
_add(
    "incline burpee",
    "4",
    "Hands on a bench, step or jump back to a plank, return, and stand up tall.",
    easier=("air squat",),
    gear=("bench or chair",),
    caution="Put the bench or chair against a wall so that it cannot slide.",
    aka=("box burpee",),
)
_add(
    "squat thrust",
    "2.5",
    "Hands down, both feet go back to a straight-arm plank and in again, then stand up tall.",
    easier=("incline burpee", "air squat"),
    caution=_FLOOR,
    aka=("half burpee",),
)
_add(
    "lateral burpee",
    "4.8",
    "Chest and thighs touch the floor beside the line or load, then both feet cross over it.",
    easier=("burpee", "step-back burpee"),
    caution=_FLOOR,
)
_add(
    "burpee box jump",
    "6",
    "Chest and thighs touch the floor, then both feet land on the box and the hips straighten.",
    easier=("burpee", "step-back burpee"),
    gear=("box",),
    caution="Check that the box is stable, and step down.",
)
_add(
    "burpee pull-up",
    "6",
    "Chest and thighs touch the floor, then jump to the bar and bring the chin over it.",
    easier=("burpee", "step-back burpee"),
    gear=("pull-up bar",),
    caution="Check that the bar is firmly mounted before hanging from it.",
)
_add(
    "dumbbell burpee",
    "5.5",
    "Hands on the dumbbells, chest touches the floor, then stand tall with a load in each hand.",
    load=True,
    easier=("burpee", "step-back burpee"),
    gear=("two dumbbells",),
    caution="Use dumbbells that cannot roll.",
    aka=("burpee deadlift",),
)
_add(
    "burpee to overhead",
    "7",
    "Chest touches the floor between two loads, which then go in one go to straight arms above "
    "the head.",
    load=True,
    easier=("dumbbell burpee", "burpee"),
    gear=("two dumbbells",),
    caution=_BACK,
    aka=("devil press",),
)
_add(
    "man maker",
    "10",
    "On two loads a push-up and a row on each side, then clean, squat and press overhead.",
    load=True,
    easier=("dumbbell burpee", "squat thrust"),
    gear=("two dumbbells",),
    caution="Use dumbbells that cannot roll. " + _BACK,
    aka=("manmaker",),
)
_add(
    "thruster",
    "3",
    "Front squat below the knees flows into straight arms above the head.",
    load=True,
    sides=Sides.EITHER,
    easier=("goblet squat", "air squat"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_OVERHEAD,
    aka=("squat to press",),
)
_add(
    "wall ball",
    "2.6",
    "From a squat below the knees the ball flies to the target and is caught.",
    load=True,
    easier=("thruster", "air squat"),
    gear=("heavy ball", "wall"),
    caution="Ask first whether the wall and the neighbours can take it.",
    aka=("wall ball shot", "wall-ball"),
)
_add(
    "ball slam",
    "2.5",
    "From straight arms above the head the ball is thrown to the floor and picked up.",
    load=True,
    easier=("air squat",),
    gear=("dead ball",),
    caution="Use a ball that does not bounce. " + _BACK,
    aka=("slam ball",),
)
_add(
    "clean",
    "3.2",
    "The load goes from the floor to the front of the shoulders and ends at a full stand.",
    load=True,
    sides=Sides.EITHER,
    easier=("hang clean", "deadlift"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_BACK,
)
_add(
    "hang clean",
    "2.6",
    "From above the knees the load goes to the front of the shoulders and a full stand.",
    load=True,
    sides=Sides.EITHER,
    easier=("deadlift",),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_BACK,
    aka=("hang power clean",),
)
_add(
    "squat clean",
    "4",
    "The load is caught at the shoulders in a squat below the knees and stood up with.",
    load=True,
    sides=Sides.EITHER,
    easier=("clean", "front squat"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_BACK,
)
_add(
    "clean and press",
    "4",
    "The load goes from the floor to the shoulders, then on to straight arms above the head.",
    load=True,
    sides=Sides.EITHER,
    easier=("clean", "push press"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_OVERHEAD,
)
_add(
    "clean and jerk",
    "5",
    "The load goes from the floor to the shoulders, then by a dip and drive to straight arms "
    "overhead.",
    load=True,
    sides=Sides.EITHER,
    easier=("clean and press", "clean"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_OVERHEAD,
)
_add(
    "shoulder to overhead",
    "2.6",
    "By any press or jerk the load goes from the shoulders to straight arms above the head.",
    load=True,
    sides=Sides.EITHER,
    easier=("push press", "shoulder press"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_OVERHEAD,
)
_add(
    "ground to overhead",
    "4",
    "By any path the load goes from the floor to straight arms above the head at a full stand.",
    load=True,
    sides=Sides.EITHER,
    easier=("clean and press", "deadlift"),
    gear=("dumbbell, kettlebell, plate or barbell",),
    caution=_BACK,
)
_add(
    "snatch",
    "3.5",
    "In one go the load travels from the floor to straight arms above the head at a full stand.",
    load=True,
    sides=Sides.EITHER,
    easier=("single-arm snatch", "ground to overhead"),
    gear=("barbell, dumbbell or kettlebell",),
    caution=_BACK,
)
_add(
    "single-arm snatch",
    "2.5",
    "In one go the load travels from floor or swing to one straight arm above the head.",
    load=True,
    sides=Sides.ONE,
    easier=("single-arm clean and press", "single-arm swing"),
    gear=("dumbbell or kettlebell",),
    caution=_BACK,
    aka=("one-arm snatch",),
)
_add(
    "single-arm clean and press",
    "4",
    "One hand takes the load from floor or swing to the shoulder and on to a straight arm.",
    load=True,
    sides=Sides.ONE,
    easier=("single-arm swing", "band shoulder press"),
    gear=("dumbbell or kettlebell",),
    caution=_OVERHEAD,
    aka=("one-arm clean and press",),
)
_add(
    "turkish get-up",
    "20",
    "From lying to standing and back, the load on a straight arm above the shoulder throughout.",
    load=True,
    sides=Sides.ONE,
    easier=("half get-up",),
    gear=("kettlebell or dumbbell",),
    caution="Learn it without a load; watch the load until you stand.",
    aka=("get-up",),
)
_add(
    "half get-up",
    "10",
    "From lying to a tall seat on one hand and back, the load above the shoulder throughout.",
    load=True,
    sides=Sides.ONE,
    gear=("kettlebell or dumbbell",),
    caution="Learn it without a load.",
)
_add(
    "kettlebell halo",
    "3",
    "The bell circles the head close by with the trunk still.",
    load=True,
    sides=Sides.ONE,
    gear=("kettlebell or plate",),
    caution="Use a light bell.",
    aka=("halo",),
)
_add(
    "battle rope wave",
    "0.6",
    "Each arm in turn sends a wave down the rope to its anchor.",
    sides=Sides.EITHER,
    easier=("march on the spot",),
    gear=("heavy rope", "anchor"),
    aka=("rope wave", "battle rope"),
)
_add(
    "shadow punch",
    "0.5",
    "One straight punch into the air with the hip turning and the other hand at the chin.",
    sides=Sides.ONE,
    aka=("shadow boxing", "punch"),
)
_add(
    "burpee over the bar",
    "5",
    "Chest and thighs touch the floor beside the bar, then both feet cross over it.",
    easier=("burpee", "step-back burpee"),
    gear=("barbell",),
    caution=_FLOOR,
)
_add(
    "power clean",
    "3.5",
    "From the floor, caught at the shoulders above a deep squat, and ending at a full stand.",
    load=True,
    easier=("hang clean", "deadlift"),
    gear=("barbell",),
    caution=_BACK,
)
_add(
    "power snatch",
    "3.5",
    "From the floor, caught on straight arms above a deep squat, and ending at a full stand.",
    load=True,
    easier=("ground to overhead", "deadlift"),
    gear=("barbell",),
    caution=_BACK,
)
_add(
    "dumbbell snatch",
    "2.8",
    "In one go the dumbbell travels from the floor to one straight arm above the head.",
    load=True,
    sides=Sides.ONE,
    easier=("single-arm clean and press", "single-arm swing"),
    gear=("dumbbell",),
    caution=_BACK,
)
_add(
    "kettlebell snatch",
    "2.4",
    "In one go the bell swings from between the legs to one straight arm above the head.",
    load=True,
    sides=Sides.ONE,
    easier=("single-arm clean and press", "single-arm swing"),
    gear=("kettlebell",),
    caution="Guide the bell round the wrist so that it does not bang the forearm. " + _BACK,
)
