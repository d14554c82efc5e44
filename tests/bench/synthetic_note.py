"""Invented notes, as short and as mistyped as people write them; no sentence of the primer is among them."""

from __future__ import annotations

import random

_CLAUSES = """\
skin was a bit red under the lower pad|felt stronger today|pad would not stick, used a new one
hand opened further than yesterday|tired after a bad night|stopped because the phone rang
my daughter helped with the straps|cable came loose twice|forgot to drink water before
fingers twitched but the wrist did not lift|left the pads in the car so they were cold|shoulder hurt when reaching
could hold the cup for 5 seconds|the buzzing was unpleasant at first|moved pad 2 about one centimetre up
did it after physio so I was sore|very humid, pads slipped|no problems|thumb is moving again!!
watched tv and lost count|current felt uneven|had to turn it down, too strong|turned it up a little, no pain
battery low, changed it|itching for ten minutes afterwards|red square where the gel was
managed to press the light switch|wife says the grip is better|arm was swollen this morning
did the second half standing|skipped the warm up, in a hurry|new pack of electrodes
cramp in the forearm near the end|could not find a good spot for the small pad|felt dizzy, sat down, fine after 2 min
visitors came so I paused|better when the arm lies on a pillow|cold hands today
the app beeped but I missed it|slept well, good session|elbow would not straighten
spasm in little finger|knee gave way once|foot lifts higher now|walked to the kitchen with it on
toes curl when it is above 30|pain 3 only at the start|Tochter war dabei, alles gut
Haut leicht gerötet, nach 20 Min weg|piel un poco roja después|un peu fatigué aujourd'hui 🙂
ok|fine|all good|same as yesterday|bit sore|great!|see last note"""
CLAUSES = _CLAUSES.replace("\n", "|").split("|")
_LONGEST = 140


def make_note(choose: random.Random) -> str:
    """Draws a note: one clause or two, perhaps with a capital, a typing error, a number."""
    note = choose.choice(CLAUSES)
    if choose.random() < 0.35 and len(note) < 80:
        note += choose.choice([", ", ". ", " and ", " - "]) + choose.choice(CLAUSES)
    if choose.random() < 0.25:
        note = note[:1].upper() + note[1:] + ("." if choose.random() < 0.5 else "")
    if choose.random() < 0.25 and len(note) > 8:
        note = _mistyped(note, choose)
    if choose.random() < 0.2:
        note += f" {choose.randrange(1, 60)}"
    return note[:_LONGEST]


def _mistyped(note: str, choose: random.Random) -> str:
    at, way = choose.randrange(1, len(note) - 1), choose.random()
    if way < 0.4:
        return note[:at] + note[at + 1 :]
    if way < 0.8:
        return note[:at] + note[at + 1] + note[at] + note[at + 2 :]
    return note[:at] + note[at] + note[at:]
