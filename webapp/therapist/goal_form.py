"""The form of one goal: its words, five levels, weight, baseline and day."""

from __future__ import annotations

from datetime import date

from webapp.practice.goals import HIGHEST_WEIGHT, LEVELS, Goal
from webapp.therapist.form import Form

EARLIEST = date(2000, 1, 1)  # an older date is a slip of the hand
WORDS_LONGEST, LEVEL_LONGEST = 280, 200


def read_goal(form: Form, number: int, today: date) -> Goal | None:
    """Reads a goal as typed; None where something is to be mended."""
    said = form.text("words", required=True, most=WORDS_LONGEST)
    one, two, three, four, five = (form.text(f"level{n}", required=True, most=LEVEL_LONGEST) for n in range(5))
    degrees = [str(n) for n in range(HIGHEST_WEIGHT + 1)]
    importance, difficulty = form.choice("importance", degrees), form.choice("difficulty", degrees)
    baseline = form.choice("baseline", [str(level) for level in LEVELS])
    set_on = form.day("set_on", EARLIEST, today)
    if not form.ok or set_on is None:
        return None
    return Goal(number=number, words=said, levels=(one, two, three, four, five), importance=int(importance),
                difficulty=int(difficulty), baseline=int(baseline), set_on=set_on)


def typed_goal(goal: Goal) -> dict[str, object]:
    """Gives the form of a goal as it was typed."""
    return {"words": goal.words, "importance": goal.importance, "difficulty": goal.difficulty,
            "baseline": goal.baseline, "set_on": goal.set_on.isoformat(),
            **{f"level{n}": text for n, text in enumerate(goal.levels)}}
