"""Hinges: the hips fold and open, the back stays long."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.HINGE)
_add = TABLE.add
_BACK = "Keep the back long; end the set when it rounds or hurts."

_add(
    "deadlift",
    "3",
    "Load starts still on the floor and ends at a full stand with knees and hips straight.",
    load=True,
    easier=("hip hinge",),
    gear=("barbell, dumbbells or kettlebells",),
    caution=_BACK,
)
_add(
    "kettlebell deadlift",
    "2.6",
    "The bell starts still on the floor between the feet and ends at a full stand, hips straight.",
    load=True,
    easier=("hip hinge",),
    gear=("kettlebell",),
    caution=_BACK,
)
_add(
    "sumo deadlift",
    "3",
    "Feet wide with hands inside the knees, lift the load from the floor to a full stand.",
    load=True,
    easier=("deadlift", "hip hinge"),
    gear=("barbell, dumbbell or kettlebell",),
    caution=_BACK,
)
_add(
    "romanian deadlift",
    "3",
    "From a stand, hips go back with soft knees until the load passes the knees, then stand "
    "up straight.",
    load=True,
    easier=("hip hinge",),
    gear=("barbell, dumbbells or kettlebells",),
    caution=_BACK,
    aka=("rdl", "stiff-leg deadlift"),
)
_add(
    "single-leg deadlift",
    "3.5",
    "On one leg, fold until the trunk is near level with hips square, then stand up straight.",
    load=True,
    sides=Sides.ONE,
    easier=("staggered deadlift", "romanian deadlift"),
    caution="Stand near a wall to catch the balance. " + _BACK,
    aka=("one-leg deadlift", "single-leg romanian deadlift", "single-leg rdl"),
)
_add(
    "staggered deadlift",
    "3",
    "Weight on the front foot, back toes down, fold until the load passes the knee, then stand.",
    load=True,
    sides=Sides.ONE,
    easier=("romanian deadlift", "hip hinge"),
    gear=("dumbbell or kettlebell",),
    caution=_BACK,
    aka=("b-stance deadlift", "kickstand deadlift"),
)
_add(
    "suitcase deadlift",
    "3",
    "Load beside one foot, lift it to a full stand with the shoulders level.",
    load=True,
    sides=Sides.ONE,
    easier=("deadlift", "hip hinge"),
    gear=("dumbbell or kettlebell",),
    caution=_BACK,
)
_add(
    "hip hinge",
    "2.5",
    "Hands on hips, push them back with a long back until the thighs stop you, then stand tall.",
    aka=("bodyweight hinge",),
)
_add(
    "good morning",
    "3",
    "Fold at the hips with soft knees until the trunk nears level, then stand up straight.",
    load=True,
    easier=("hip hinge",),
    caution=_BACK,
)
_add(
    "banded good morning",
    "2.5",
    "Band under the feet and over the neck's base, fold near level, then stand up straight.",
    easier=("hip hinge",),
    gear=("band",),
    caution="Keep the band on the shoulders, off the throat. " + _BACK,
    aka=("band good morning",),
)
_add(
    "band pull-through",
    "2.5",
    "Facing away from the anchor, fold with the band between the legs, then open the hips fully.",
    easier=("hip hinge",),
    gear=("band", "low anchor"),
    caution="Check that the anchor holds before the first rep.",
)
_add(
    "kettlebell swing",
    "1.8",
    "The hips drive the bell from between the legs to chest height and end fully straight.",
    load=True,
    easier=("romanian deadlift", "hip hinge"),
    gear=("kettlebell",),
    caution="Clear the space in front and behind. " + _BACK,
    aka=("swing", "russian swing", "two-hand swing"),
)
_add(
    "overhead kettlebell swing",
    "2.2",
    "The hips drive the bell from between the legs to straight arms above the head.",
    load=True,
    easier=("kettlebell swing", "romanian deadlift"),
    gear=("kettlebell",),
    caution="Swing to chest height only if the shoulders or low back object.",
    aka=("american swing", "overhead swing"),
)
_add(
    "single-arm swing",
    "1.8",
    "One hand on the bell, hips drive it to chest height with the shoulders square.",
    load=True,
    sides=Sides.ONE,
    easier=("kettlebell swing", "romanian deadlift"),
    gear=("kettlebell",),
    caution=_BACK,
    aka=("one-arm swing", "single-arm kettlebell swing"),
)
_add(
    "dumbbell swing",
    "1.8",
    "The hips drive the dumbbell from between the legs to chest height and end fully straight.",
    load=True,
    easier=("romanian deadlift", "hip hinge"),
    gear=("dumbbell",),
    caution="Grip the handle or the head firmly. " + _BACK,
)
_add(
    "glute bridge",
    "2",
    "On the back with feet flat, hips rise to a straight line from knee to shoulder and come down.",
    load=True,
    aka=("hip bridge", "bridge"),
)
_add(
    "single-leg glute bridge",
    "2.5",
    "One foot flat and the other leg up, hips rise level to a straight line and come down.",
    sides=Sides.ONE,
    easier=("glute bridge",),
    aka=("single-leg bridge", "one-leg bridge"),
)
_add(
    "hip thrust",
    "2.5",
    "Shoulders on a bench, hips rise to a level line from knee to shoulder and come down.",
    load=True,
    easier=("glute bridge",),
    gear=("bench or sofa",),
    caution="Put the bench against a wall so that it cannot slide.",
)
_add(
    "hamstring walkout",
    "5",
    "From a bridge, small heel steps take the feet out and back with the hips off the floor.",
    easier=("glute bridge",),
)
_add(
    "sliding leg curl",
    "3.5",
    "Hips stay up while the heels slide away to near straight legs and back under the knees.",
    easier=("hamstring walkout", "glute bridge"),
    gear=("towel or sliders",),
    caution="Stop at a cramp or a sharp pull behind the thigh.",
)
_add(
    "prone back raise",
    "2.5",
    "Face down, chest and legs leave the floor together and come down under control.",
    aka=("back extension", "superman"),
)
_add(
    "donkey kick",
    "1.5",
    "On all fours, one bent leg lifts until the thigh is level with the back, hips square.",
    sides=Sides.ONE,
    aka=("glute kickback",),
)
