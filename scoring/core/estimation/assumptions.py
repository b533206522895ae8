"""The figures that the model takes as given.

Spreads are standard deviations of natural logarithms: 0.2 is about a fifth.
"""

REFERENCE_SECONDS = 600.0
"""The duration at which pace is compared: ten minutes (a convention)."""

FADE = 1.06
"""γ: how time grows with work. Riegel, P. S. (1981), Athletic Records and Human Endurance,
American Scientist 69(3):285-290: record times over distances grow as distance to the power
1.06 in running (citation and figure as others quote them; the paper itself was not read)."""

FADE_SPREAD = 0.03
"""How far γ may be from ``FADE`` where splits are there to estimate it."""

COST_SPREAD = 0.35
"""How far a movement's seconds a rep may be from the catalogue's figure."""

TIE_SPREAD = 0.2
"""How far what an option or a load is worth may be from the coach's credit."""

NOISE = 0.08
"""σ to start from: what one result differs from what its member should have done."""

LEAST_NOISE = 0.01
"""What one result differs by at least: reps are whole, and a clock is read by eye."""

LEVEL_SPREAD = 0.25
"""How far members' levels lie apart, to start from."""

CLASS_SPREAD = 0.05
"""How far classes lie apart (the day, the room, the stream)."""

DRIFT_PER_DAY = 0.005
"""How far a level moves in a day, to start from: about 0.03 in five weeks."""

IMPOSSIBLE = 4.0
"""A mark so many standard deviations from what was expected is a question to the coach."""

LEAST_RESULTS = 15
"""Under so many results with an option the coach's credit speaks louder than the data."""

MODEL_VERSION = 1
"""Raised with any change of the model that could move an estimate."""

UNTAUGHT_SPREAD = 0.35
"""Before any result: the log of how a whole gym's pace stands to the catalogue's seconds, which
know no pauses (our own choice, as wide as what is held of one movement)."""
