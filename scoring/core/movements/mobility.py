"""Mobility for warm-ups and cool-downs: slow, in comfort, never into pain."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.MOBILITY)
_add = TABLE.add
_SOFT = "Stay where it is comfortable; a stretch never hurts."
_STAND = "Hold a wall or chair for balance."

_add(
    "arm circle",
    "1.5",
    "A long arm draws one full circle beside the ear.",
    sides=Sides.EITHER,
)
_add(
    "shoulder roll",
    "1.5",
    "Both shoulders go up, back and down in one slow circle.",
)
_add(
    "band pass-through",
    "3",
    "Long arms take a loose band or stick from the thighs over the head to the back and return.",
    easier=("arm circle",),
    gear=("band or stick",),
    caution=_SOFT,
    aka=("shoulder pass-through",),
)
_add(
    "leg swing",
    "1.2",
    "A relaxed leg swings to and fro once with the trunk still.",
    sides=Sides.ONE,
    caution=_STAND,
)
_add(
    "hip circle",
    "2",
    "A raised knee draws one full circle from front to side and down.",
    sides=Sides.ONE,
    caution=_STAND,
)
_add(
    "ankle circle",
    "2",
    "One foot draws a full slow circle off the floor.",
    sides=Sides.ONE,
    caution=_STAND,
)
_add(
    "ankle rock",
    "2.5",
    "The knee travels forward over the toes with the heel down, and returns.",
    sides=Sides.ONE,
    caution=_STAND,
)
_add(
    "knee hug",
    "2.5",
    "Standing tall, one knee is drawn to the chest and let down.",
    sides=Sides.ONE,
    caution=_STAND,
)
_add(
    "cat-cow",
    "4",
    "On all fours the whole back rounds up and then hollows slowly.",
    caution=_SOFT,
    aka=("cat cow", "cat stretch"),
)
_add(
    "thread the needle",
    "5",
    "On all fours one arm slides under the chest until the shoulder rests, then opens upwards.",
    sides=Sides.ONE,
    caution=_SOFT,
)
_add(
    "open book",
    "5",
    "Lying on one side, the top arm opens to the other side while the knees stay together.",
    sides=Sides.ONE,
    caution=_SOFT,
)
_add(
    "trunk twist",
    "2",
    "Standing, the ribs turn to one side with relaxed arms and return.",
    sides=Sides.ONE,
    aka=("standing twist", "torso twist"),
)
_add(
    "deep lunge stretch",
    "5",
    "From a long lunge with hands down, the chest opens and one arm reaches upwards.",
    sides=Sides.ONE,
    easier=("hip flexor stretch",),
    caution=_SOFT,
    aka=("lunge with a twist", "lunge with a reach"),
)
_add(
    "hip flexor stretch",
    "30",
    "On one knee, hips tucked, shift forward until the front of the rear hip stretches.",
    sides=Sides.ONE,
    caution=_SOFT,
    aka=("kneeling hip stretch",),
)
_add(
    "hamstring stretch",
    "30",
    "One leg long in front, fold from the hips with a long back.",
    sides=Sides.ONE,
    caution=_SOFT,
)
_add(
    "quad stretch",
    "30",
    "Standing tall, one heel is drawn to the seat with knees together.",
    sides=Sides.ONE,
    caution=_STAND,
    aka=("quadriceps stretch", "thigh stretch"),
)
_add(
    "calf stretch",
    "30",
    "Hands on a wall, rear leg straight with the heel down.",
    sides=Sides.ONE,
    gear=("wall",),
    caution=_SOFT,
)
_add(
    "pigeon stretch",
    "30",
    "Front shin across, rear leg long, hips square and sinking.",
    sides=Sides.ONE,
    easier=("figure-four stretch",),
    caution="Lie on the back for the figure four if the knee feels it.",
    aka=("pigeon", "pigeon pose"),
)
_add(
    "figure-four stretch",
    "30",
    "On the back, one ankle rests on the other knee and both legs are drawn in.",
    sides=Sides.ONE,
    caution=_SOFT,
    aka=("figure four",),
)
_add(
    "butterfly stretch",
    "30",
    "Seated tall with the soles together and the knees sinking outwards.",
    caution=_SOFT,
)
_add(
    "90/90 switch",
    "4",
    "Seated with both knees at right angles, they sweep together to the other side.",
    sides=Sides.ONE,
    easier=("figure-four stretch",),
    caution="Lean on the hands if the hips are stiff.",
    aka=("hip switch",),
)
_add(
    "child's pose",
    "30",
    "Seat on the heels, arms long in front and brow down, breathing slowly.",
    caution=_SOFT,
    aka=("childs pose",),
)
_add(
    "downward dog",
    "30",
    "Hands and feet down, hips high, back long and heels sinking.",
    easier=("child's pose",),
    caution="Not with high blood pressure or eye trouble: take the child's pose instead.",
    aka=("down dog", "downward-facing dog"),
)
_add(
    "prone press-up",
    "4",
    "Face down with the hips on the floor, the arms raise the chest as far as is comfortable.",
    caution=_SOFT,
    aka=("cobra", "cobra stretch"),
)
_add(
    "chest stretch",
    "30",
    "A forearm on the door frame, the body turns away until the chest stretches.",
    sides=Sides.ONE,
    gear=("door frame",),
    caution=_SOFT,
    aka=("doorway stretch",),
)
_add(
    "lat stretch",
    "30",
    "Hands on a bench, hips back, the chest sinks between long arms.",
    gear=("bench or chair",),
    caution=_SOFT,
)
_add(
    "neck stretch",
    "20",
    "One ear sinks towards the shoulder while the other shoulder stays down.",
    sides=Sides.ONE,
    caution="No pulling by hand. " + _SOFT,
)
_add(
    "wall slide",
    "3",
    "Back and arms on a wall, the hands slide up as far as they keep touching, and down.",
    gear=("wall",),
    caution=_SOFT,
    aka=("wall angel",),
)
_add(
    "squat to stand",
    "4",
    "Holding the toes, sink into a deep squat with the chest up, then straighten the legs.",
    easier=("hip hinge",),
    caution=_SOFT,
)
_add(
    "deep breath",
    "8",
    "In through the nose for about three seconds and out for about five.",
    aka=("slow breath", "belly breath"),
)
