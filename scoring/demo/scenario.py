"""The invented gym: its people and its workouts. Nobody here exists."""

from fractions import Fraction

GYM = "Lantern Quay"
OWNER = "Signe Halloran"
COACHES = ("Mirela Oduya", "Kasper Lindqvist")
FIRST = [
    "Aino",
    "Bram",
    "Chidi",
    "Dalia",
    "Emre",
    "Freya",
    "Goran",
    "Hana",
    "Idris",
    "Jana",
    "Kofi",
    "Lena",
    "Marek",
    "Nadia",
    "Oskar",
    "Petra",
    "Quim",
    "Rosa",
    "Samir",
    "Tove",
    "Ulla",
    "Viktor",
    "Wanda",
    "Xenia",
    "Yusuf",
    "Zofia",
    "Anton",
    "Beata",
    "Cesar",
    "Doris",
]
LAST = [
    "Vance",
    "Okafor",
    "Lindholm",
    "Marsh",
    "Petrov",
    "Quintero",
    "Rahimi",
    "Sand",
    "Tanaka",
    "Ulrich",
]

CREDITS = {("hand-release push-up", "knee push-up"): Fraction(7, 10)}
"""What the gym's table says; the other options have theirs on the board."""

WORKOUTS = (
    """Two ladders and a tide
cap 18:00

18-12-6
goblet squat @ 20/12 kg
hollow rock
  or tuck rock, credit 0.75

14-10-6
single-arm row @ 16/10 kg, alternating
hand-release push-up
  or knee push-up

amrap in the time left, one side per round
4 push press @ 16/10 kg
8 reverse lunge
12 sit-up
""",
    """Down the quay
cap 14:00

21-15-9
kettlebell swing @ 20/12 kg
burpee
  or squat thrust, credit 0.7

12-9-6
push press @ 16/10 kg
reverse lunge
""",
    """Twelve slow lamps
amrap 12:00
10 air squat
8 push-up
  or knee push-up, credit 0.75
6 v-up
  or tuck-up, credit 0.8
""",
    """Harbour rounds
cap 16:00

5 rounds
12 goblet squat @ 16/10 kg
10 hand-release push-up
  or knee push-up
20 mountain climber
""",
    """Ten bells
every 1:00 for 10 rounds
8 kettlebell swing @ 20/12 kg
max burpee
  or squat thrust, credit 0.7
""",
    """Rope and ladder
cap 15:00

16-12-8
walking lunge
sit-up

amrap in the time left
6 burpee
  or squat thrust, credit 0.7
10 kettlebell deadlift @ 24/16 kg
""",
)
