"""Lunges and steps."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.LUNGE)
_add = TABLE.add
_KNEE = "Shorten the step, or take an easier option, if the knee hurts."
_BOX = "Check that the box is stable and dry."

_add(
    "reverse lunge",
    "2.2",
    "Step back until the rear knee touches the floor softly, then return to a full stand.",
    load=True,
    sides=Sides.ONE,
    easier=("assisted lunge", "air squat"),
    caution=_KNEE,
    aka=("back lunge", "backward lunge"),
)
_add(
    "forward lunge",
    "2.2",
    "Step forward until the rear knee touches the floor softly, then push back to a full stand.",
    load=True,
    sides=Sides.ONE,
    easier=("reverse lunge", "split squat"),
    caution=_KNEE,
    aka=("front lunge",),
)
_add(
    "walking lunge",
    "2.2",
    "Each step travels, the rear knee touches the floor softly, and the hips open before the next.",
    load=True,
    sides=Sides.ONE,
    easier=("reverse lunge", "split squat"),
    caution=_KNEE,
)
_add(
    "overhead lunge",
    "3",
    "Load above the head on a straight arm while the rear knee touches and the hips open fully.",
    load=True,
    sides=Sides.ONE,
    easier=("walking lunge", "reverse lunge"),
    gear=("dumbbell, kettlebell or plate",),
    caution="Carry the load at the shoulder if it cannot stay above the head. " + _KNEE,
    aka=("overhead walking lunge",),
)
_add(
    "front-rack lunge",
    "2.8",
    "Load on the front of the shoulders while the rear knee touches and the hips open fully.",
    load=True,
    sides=Sides.ONE,
    easier=("reverse lunge", "split squat"),
    gear=("barbell, dumbbells or kettlebells",),
    caution=_KNEE,
)
_add(
    "lateral lunge",
    "2.5",
    "Step wide and sit over one bent knee with the other leg straight, then return to a stand.",
    load=True,
    sides=Sides.ONE,
    easier=("air squat",),
    caution="Step less wide if the groin pulls.",
    aka=("side lunge",),
)
_add(
    "curtsy lunge",
    "2.5",
    "Step behind and across until the rear knee is near the floor, then return to a full stand.",
    load=True,
    sides=Sides.ONE,
    easier=("reverse lunge",),
    caution=_KNEE,
)
_add(
    "assisted lunge",
    "2.5",
    "Hand on a chair or wall, rear knee sinks as low as is comfortable, then return to a stand.",
    sides=Sides.ONE,
    gear=("chair or wall",),
    aka=("supported lunge",),
)
_add(
    "split squat",
    "2.2",
    "Feet stay staggered while the rear knee sinks to the floor and the front leg straightens.",
    load=True,
    sides=Sides.ONE,
    easier=("assisted lunge",),
    caution=_KNEE,
    aka=("static lunge",),
)
_add(
    "rear-foot-raised split squat",
    "2.8",
    "Rear foot on a bench, front thigh sinks to level, then the front leg straightens.",
    load=True,
    sides=Sides.ONE,
    easier=("split squat", "reverse lunge"),
    gear=("bench or sofa",),
    caution=_KNEE,
    aka=("bulgarian split squat", "rear-foot-elevated split squat"),
)
_add(
    "cossack squat",
    "3",
    "From a wide stance sink over one heel with the other leg straight, then rise and change.",
    load=True,
    sides=Sides.ONE,
    easier=("lateral lunge", "air squat"),
    caution="Sink only as far as the groin and knee allow.",
)
_add(
    "step-up",
    "2.2",
    "The whole foot is on the box and hip and knee are straight on top before stepping down.",
    load=True,
    sides=Sides.ONE,
    easier=("low step-up",),
    gear=("box",),
    caution=_BOX,
    aka=("box step-up",),
)
_add(
    "low step-up",
    "1.8",
    "The whole foot is on a low step and the body stands straight on top before stepping down.",
    sides=Sides.ONE,
    gear=("low step or stair",),
    caution=_BOX,
    aka=("stair step-up",),
)
_add(
    "lateral step-up",
    "2.5",
    "Step up sideways with the whole foot on the box and stand straight before stepping down.",
    load=True,
    sides=Sides.ONE,
    easier=("step-up", "low step-up"),
    gear=("box",),
    caution=_BOX,
    aka=("side step-up",),
)
_add(
    "box step-over",
    "3",
    "Step up with the whole foot, cross the box and step down on the other side.",
    load=True,
    sides=Sides.ONE,
    easier=("step-up", "low step-up"),
    gear=("box",),
    caution=_BOX,
)
_add(
    "calf raise",
    "1.5",
    "Heels rise as high as they go with straight knees and come down under control.",
    load=True,
    sides=Sides.EITHER,
    aka=("heel raise",),
)
_add(
    "lunge",
    "2.2",
    "One step forward or back, rear knee to the floor softly, then return to a full stand.",
    load=True,
    sides=Sides.ONE,
    easier=("split squat", "assisted lunge"),
    caution=_KNEE,
)
