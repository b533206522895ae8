"""Pulls: rows, chins, curls."""

from .entry import Pattern, Sides, Table

TABLE = Table(Pattern.PULL)
_add = TABLE.add
_BAR = "Check that the bar is firmly mounted before hanging from it."
_TABLE = "Test with part of your weight that the support holds."
_BACK = "Keep the back long; end the set when it rounds or hurts."

_add(
    "single-arm row",
    "2.2",
    "Trunk still and near level, the load goes from a straight arm to the ribs.",
    load=True,
    sides=Sides.ONE,
    easier=("band row",),
    gear=("dumbbell or kettlebell",),
    caution=_BACK,
    aka=("one-arm row",),
)
_add(
    "bent-over row",
    "2.5",
    "Trunk still and near level, the load goes from straight arms to the belly.",
    load=True,
    easier=("single-arm row", "band row"),
    gear=("barbell, dumbbells or kettlebells",),
    caution=_BACK,
    aka=("bent row",),
)
_add(
    "gorilla row",
    "2",
    "Over two bells on the floor, one is pulled to the ribs while the other is pressed down.",
    load=True,
    sides=Sides.ONE,
    easier=("single-arm row", "band row"),
    gear=("two kettlebells or dumbbells",),
    caution=_BACK,
)
_add(
    "renegade row",
    "2.8",
    "In a wide-footed plank on two loads, one goes to the ribs with the hips square.",
    load=True,
    sides=Sides.ONE,
    easier=("single-arm row", "band row"),
    gear=("two dumbbells",),
    caution="Use dumbbells that cannot roll.",
    aka=("plank row",),
)
_add(
    "upright row",
    "2.2",
    "The load rises close to the body to the lower chest with the elbows leading.",
    load=True,
    easier=("band row",),
    gear=("barbell, dumbbells or kettlebell",),
    caution="Stop lower if the shoulder pinches.",
)
_add(
    "sumo deadlift high pull",
    "2.6",
    "Wide stance, the load goes from the floor through straight hips to the collarbones.",
    load=True,
    easier=("sumo deadlift", "deadlift"),
    gear=("barbell or kettlebell",),
    caution=_BACK,
    aka=("sdhp",),
)
_add(
    "band row",
    "2",
    "Band anchored in front, hands go from straight arms to the ribs, shoulder blades together.",
    sides=Sides.EITHER,
    gear=("band", "anchor or own feet"),
    caution="Check the band for tears and that the anchor holds.",
    aka=("seated band row",),
)
_add(
    "band pull-apart",
    "1.6",
    "Arms straight in front, the band is drawn apart until it touches the chest.",
    gear=("band",),
    caution="Check the band for tears.",
)
_add(
    "band face pull",
    "2",
    "The band is drawn to the brow with elbows high and hands wide of the ears.",
    easier=("band pull-apart",),
    gear=("band", "anchor"),
    caution="Check the band for tears and that the anchor holds.",
    aka=("face pull",),
)
_add(
    "band lat pull-down",
    "2.2",
    "Band anchored high, hands go from straight arms above the head to the shoulders.",
    easier=("band row",),
    gear=("band", "high anchor"),
    caution="Check the band for tears and that the anchor holds.",
    aka=("band pull-down",),
)
_add(
    "reverse fly",
    "2.5",
    "Trunk folded forward, near-straight arms open to shoulder height and come down slowly.",
    load=True,
    easier=("band pull-apart",),
    gear=("dumbbells or band",),
    aka=("rear raise",),
)
_add(
    "pull-up",
    "2.5",
    "Palms away, from a hang with straight arms the chin rises over the bar.",
    load=True,
    easier=("band-assisted pull-up", "inverted row", "band lat pull-down"),
    gear=("pull-up bar",),
    caution=_BAR,
    aka=("strict pull-up",),
)
_add(
    "chin-up",
    "2.5",
    "Palms towards you, from a hang with straight arms the chin rises over the bar.",
    load=True,
    easier=("band-assisted pull-up", "inverted row"),
    gear=("pull-up bar",),
    caution=_BAR,
)
_add(
    "chest-to-bar pull-up",
    "2.8",
    "From a hang with straight arms the chest touches the bar below the collarbones.",
    easier=("pull-up", "inverted row"),
    gear=("pull-up bar",),
    caution=_BAR,
    aka=("chest-to-bar",),
)
_add(
    "band-assisted pull-up",
    "2.5",
    "Foot or knee in the band, from straight arms the chin rises over the bar.",
    easier=("inverted row", "band lat pull-down"),
    gear=("pull-up bar", "band"),
    caution="Step out of the band with one hand still on the bar. " + _BAR,
    aka=("assisted pull-up", "banded pull-up"),
)
_add(
    "jumping pull-up",
    "2",
    "From bent knees under the bar, jump and pull the chin over it, then come down softly.",
    easier=("inverted row", "band lat pull-down"),
    gear=("pull-up bar", "box"),
    caution=_BAR,
)
_add(
    "slow pull-up lowering",
    "6",
    "Start with the chin over the bar and come down to straight arms over five seconds.",
    easier=("band-assisted pull-up", "inverted row"),
    gear=("pull-up bar", "box"),
    caution="A few are plenty at first; end the session's pulling when the elbows ache. " + _BAR,
    aka=("negative pull-up",),
)
_add(
    "inverted row",
    "2.2",
    "Body in one line under the bar, from straight arms the chest touches it.",
    easier=("single-arm row", "band row"),
    gear=("low bar or sturdy table",),
    caution=_TABLE,
    aka=("table row", "body row"),
)
_add(
    "towel row",
    "2.5",
    "Leaning back on a towel round a closed door's handles, pull the chest to the hands.",
    easier=("band row",),
    gear=("towel", "door"),
    caution="Use the side on which the door closes towards you. " + _TABLE,
)
_add(
    "scapular pull-up",
    "1.8",
    "In a hang with straight arms the shoulders go from the ears down and back up.",
    easier=("band pull-apart",),
    gear=("pull-up bar",),
    caution=_BAR,
)
_add(
    "biceps curl",
    "2.5",
    "From straight arms the load rises to the shoulders with the elbows at the sides.",
    load=True,
    sides=Sides.EITHER,
    gear=("dumbbells, barbell or band",),
    aka=("bicep curl", "curl"),
)
_add(
    "hammer curl",
    "2.5",
    "Thumbs up, from straight arms the load rises to the shoulders with the elbows still.",
    load=True,
    sides=Sides.EITHER,
    gear=("dumbbells",),
)
_add(
    "dumbbell pullover",
    "3",
    "On the back, the load goes from over the chest to behind the head and back on long arms.",
    load=True,
    gear=("dumbbell",),
    caution="Hold the dumbbell's head with both hands.",
    aka=("pullover",),
)
_add(
    "dumbbell row",
    "2.2",
    "Trunk still and near level, dumbbells go from straight arms to the ribs.",
    load=True,
    sides=Sides.EITHER,
    easier=("single-arm row", "band row"),
    gear=("dumbbells",),
    caution=_BACK,
)
_add(
    "barbell row",
    "2.5",
    "Trunk still and near level, the bar goes from straight arms to the belly.",
    load=True,
    easier=("single-arm row", "band row"),
    gear=("barbell",),
    caution=_BACK,
)
_add(
    "ring row",
    "2.2",
    "Body in one line under the rings, from straight arms the hands reach the ribs.",
    easier=("single-arm row", "band row"),
    gear=("rings or straps",),
    caution=_TABLE,
    aka=("strap row",),
)
