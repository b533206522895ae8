"""Pushes, on the floor and overhead."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.PUSH)
_add = TABLE.add
_OVERHEAD = "Take a lighter load or a floor push if the shoulder hurts above the head."
_HEAD_DOWN = "Not with high blood pressure, eye trouble or neck pain: take a push-up instead."
_CHAIR = "Put the bench or chair against a wall so that it cannot slide."

_add(
    "push-up",
    "1.6",
    "Body in one line, chest touches the floor, arms straighten fully at the top.",
    easier=("incline push-up", "knee push-up"),
    aka=("press-up",),
)
_add(
    "hand-release push-up",
    "2.4",
    "Chest rests on the floor, both hands lift off it, then the body rises in one line to "
    "straight arms.",
    easier=("push-up", "knee push-up"),
    aka=("hand-release press-up",),
)
_add(
    "knee push-up",
    "1.6",
    "Knees on the floor and a line from knee to head, chest touches, arms straighten fully.",
    easier=("wall push-up",),
    aka=("kneeling push-up", "knee press-up"),
)
_add(
    "incline push-up",
    "1.6",
    "Hands on a bench, body in one line, chest touches the edge, arms straighten fully.",
    easier=("wall push-up",),
    gear=("bench or table",),
    caution=_CHAIR,
    aka=("hands-raised push-up", "box push-up"),
)
_add(
    "wall push-up",
    "1.5",
    "Standing at arm's length from a wall, the nose nears it and the arms straighten fully.",
    gear=("wall",),
)
_add(
    "decline push-up",
    "1.8",
    "Feet on a bench, body in one line, chest nears the floor, arms straighten fully.",
    easier=("push-up", "knee push-up"),
    gear=("bench or box",),
    caution=_CHAIR,
    aka=("feet-raised push-up",),
)
_add(
    "close-grip push-up",
    "1.8",
    "Hands under the chest with elbows along the ribs, chest touches, arms straighten fully.",
    easier=("push-up", "knee push-up"),
    aka=("narrow push-up",),
)
_add(
    "wide push-up",
    "1.7",
    "Hands wider than the shoulders, chest touches the floor, arms straighten fully.",
    easier=("incline push-up", "knee push-up"),
)
_add(
    "deficit push-up",
    "2.2",
    "Hands on raised grips, chest sinks below them, arms straighten fully.",
    easier=("push-up", "knee push-up"),
    gear=("two dumbbells, plates or blocks",),
    caution="Go only as deep as the shoulders allow.",
)
_add(
    "plyometric push-up",
    "2",
    "Chest nears the floor and the push throws both hands off it before they land softly.",
    easier=("push-up", "knee push-up"),
    caution="Leave it out with sore wrists or elbows.",
    aka=("clap push-up",),
)
_add(
    "shoulder-tap push-up",
    "3",
    "After each full push-up both hands tap the other shoulder with the hips still.",
    easier=("push-up", "knee push-up"),
)
_add(
    "pike push-up",
    "2.2",
    "Hips high, the crown of the head touches ahead of the hands, arms straighten fully.",
    easier=("push-up", "knee push-up"),
    caution=_HEAD_DOWN,
)
_add(
    "handstand push-up",
    "3",
    "Heels on the wall, head touches the floor or mat, arms straighten fully above the head.",
    easier=("pike push-up", "shoulder press"),
    gear=("wall", "mat"),
    caution=_HEAD_DOWN,
)
_add(
    "bench dip",
    "2",
    "Hands on a bench behind, elbows bend to a right angle, then straighten fully.",
    easier=("close-grip push-up", "knee push-up"),
    gear=("bench or chair",),
    caution="Stay higher if the front of the shoulder pulls. " + _CHAIR,
    aka=("chair dip", "triceps dip", "tricep dip"),
)
_add(
    "bar dip",
    "2.2",
    "From straight arms sink until the shoulders are below the elbows, then straighten fully.",
    load=True,
    easier=("bench dip", "push-up"),
    gear=("dip bars",),
    caution="Stay higher if the front of the shoulder pulls.",
    aka=("dip", "parallel-bar dip"),
)
_add(
    "bench press",
    "3",
    "Load touches the chest under control and the arms straighten fully above it.",
    load=True,
    easier=("floor press", "push-up"),
    gear=("barbell or dumbbells", "bench"),
    caution="Alone at home use dumbbells, or a bar with safety arms.",
)
_add(
    "floor press",
    "2.8",
    "On the back, the upper arms touch the floor and the arms straighten fully.",
    load=True,
    sides=Sides.EITHER,
    easier=("push-up", "knee push-up"),
    gear=("dumbbells, kettlebells or barbell",),
)
_add(
    "shoulder press",
    "2.8",
    "From the shoulders to straight arms above the head with the knees locked throughout.",
    load=True,
    sides=Sides.EITHER,
    easier=("band shoulder press", "pike push-up"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_OVERHEAD,
    aka=("strict press", "overhead press", "military press"),
)
_add(
    "band shoulder press",
    "2.2",
    "Standing on the band, hands go from the shoulders to straight arms above the head.",
    sides=Sides.EITHER,
    gear=("band",),
    caution=_OVERHEAD,
    aka=("band overhead press",),
)
_add(
    "seated press",
    "2.8",
    "Seated tall, the load goes from the shoulders to straight arms above the head.",
    load=True,
    sides=Sides.EITHER,
    easier=("band shoulder press",),
    gear=("dumbbell or kettlebell", "chair"),
    caution=_OVERHEAD,
)
_add(
    "half-kneeling press",
    "3",
    "One knee down and hips square, the load goes from the shoulder to a straight arm.",
    load=True,
    sides=Sides.ONE,
    easier=("seated press", "band shoulder press"),
    gear=("dumbbell or kettlebell",),
    caution=_OVERHEAD,
)
_add(
    "push press",
    "2.4",
    "Knees dip and drive once, and the arms finish straight above the head with the legs straight.",
    load=True,
    sides=Sides.EITHER,
    easier=("shoulder press", "band shoulder press"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_OVERHEAD,
)
_add(
    "push jerk",
    "3",
    "Dip and drive, catch with bent knees on straight arms, then stand up straight.",
    load=True,
    sides=Sides.EITHER,
    easier=("push press", "shoulder press"),
    gear=("dumbbell, kettlebell or barbell",),
    caution=_OVERHEAD,
)
_add(
    "split jerk",
    "4",
    "Dip and drive, catch in a split on straight arms, then bring the feet together.",
    load=True,
    easier=("push jerk", "push press"),
    gear=("barbell",),
    caution=_OVERHEAD,
)
_add(
    "band chest press",
    "2.2",
    "Band behind the back, hands go from beside the chest to straight arms in front.",
    sides=Sides.EITHER,
    easier=("wall push-up",),
    gear=("band",),
)
_add(
    "lateral raise",
    "2.5",
    "Arms near straight rise sideways to shoulder height and come down under control.",
    load=True,
    sides=Sides.EITHER,
    gear=("dumbbells or band",),
    aka=("side raise",),
)
_add(
    "front raise",
    "2.5",
    "Arms near straight rise in front to shoulder height and come down under control.",
    load=True,
    sides=Sides.EITHER,
    gear=("dumbbells or band",),
)
_add(
    "triceps extension",
    "2.5",
    "Upper arms still, the elbows bend fully behind the head and straighten fully.",
    load=True,
    sides=Sides.EITHER,
    gear=("dumbbell or band",),
    aka=("tricep extension", "overhead triceps extension"),
)
_add(
    "diamond push-up",
    "1.8",
    "Thumbs and first fingers touch under the chest, which meets the hands before the arms "
    "straighten.",
    easier=("close-grip push-up", "push-up"),
)
_add(
    "dumbbell bench press",
    "3",
    "Both dumbbells come to chest height under control and the arms straighten fully above it.",
    load=True,
    sides=Sides.EITHER,
    easier=("floor press", "push-up"),
    gear=("dumbbells", "bench"),
)
