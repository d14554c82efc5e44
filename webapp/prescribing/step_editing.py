"""The set-up steps of a draft: written from its settings, kept fresh until somebody changes one, reworded and shown."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from typing import Any

from webapp.prescribing.drafting import MOST_STEPS, Known, Typed, read_exercise, rows, text
from webapp.prescribing.set_up_steps import set_up_steps
from webapp.translations import Translate

STEP_FIELDS = ("text", "part", "long_only", "photo")


def reword_step(draft: Typed, n: int, step: int, words: list[str]) -> Typed:
    """Gives exercise n's step new words; several make several steps of the same part, none leaves it as it is.

    A photo stays with the first of them.
    """
    changed, prefix = dict(draft), f"ex{n}.step"
    steps = range(1, rows(draft, prefix, MOST_STEPS) + 1)
    table = [[text(draft, f"{prefix}{k}.{field}") for field in STEP_FIELDS] for k in steps]
    if 1 <= step <= len(table) and words:
        _text, *kept, photo = table[step - 1]
        table[step - 1 : step] = [[line, *kept, "" if k else photo] for k, line in enumerate(words)]
        write_rows(changed, prefix, STEP_FIELDS, table[:MOST_STEPS])
    return changed


def show_step_photo(draft: Typed, n: int, step: int, sha256: str) -> Typed:
    """Puts a photo beside exercise n's step, in the place of any before; an empty name takes it away."""
    there = 1 <= step <= rows(draft, f"ex{n}.step", MOST_STEPS)
    return {**draft, f"ex{n}.step{step}.photo": sha256} if there else dict(draft)


def write_rows(draft: Typed, prefix: str, fields: tuple[str, ...], table: list[list[str]]) -> None:
    for name in [name for name in draft if re.match(re.escape(prefix) + r"\d+\.", name)]:
        del draft[name]
    for n, row in enumerate(table, 1):
        draft.update({f"{prefix}{n}.{f}": value for f, value in zip(fields, row, strict=True)})


def _fingerprint(steps: list[str]) -> str:
    return hashlib.sha256("\n".join(steps).encode()).hexdigest()[:16] if steps else ""


def _written_steps(draft: Typed, n: int) -> list[str]:
    """Gives the steps as they stand; one with a photo is never one that was only written from the settings."""
    names = [f"ex{n}.step{k}" for k in range(1, rows(draft, f"ex{n}.step", MOST_STEPS) + 1)]
    return [text(draft, f"{name}.text") + text(draft, f"{name}.photo") for name in names]


def _made_steps(draft: Typed, n: int, known: Known, t: Translate) -> list[list[str]]:
    made = set_up_steps(read_exercise(draft, n, known), known.working_side, t)
    return [[step["text"].strip(), step["part"], "" if step["short"] else "yes", ""] for step in made]


def write_steps(draft: Typed, n: int, known: Known, t: Translate) -> None:
    """Writes exercise n's set-up steps anew from the stimulator, the pads, the arm and the phone.

    A step that comes out in the same words keeps its photo.
    """
    made = [[*step[:-1], _photo_of(draft, n, step[0])] for step in _made_steps(draft, n, known, t)]
    write_rows(draft, f"ex{n}.step", STEP_FIELDS, made)
    draft[f"ex{n}.steps_made"] = _fingerprint([row[0] for row in made])


def _photo_of(draft: Typed, n: int, words: str) -> str:
    names = [f"ex{n}.step{k}" for k in range(1, rows(draft, f"ex{n}.step", MOST_STEPS) + 1)]
    return next((text(draft, f"{name}.photo") for name in names if text(draft, f"{name}.text") == words), "")


def remember_steps(draft: Typed, issued: Mapping[str, Any], t: Translate) -> None:
    """Notes which steps an issued plan's settings give, so that a new version knows the ones that someone changed."""
    for exercise in issued["exercises"]:
        made = set_up_steps(exercise, issued["working_side"], t)
        draft[f"ex{exercise['exercise']}.steps_made"] = _fingerprint([step["text"].strip() for step in made])


def keep_steps_fresh(draft: Typed, n: int, known: Known, t: Translate) -> None:
    """Writes the steps anew where nobody has changed them since they were written."""
    if text(draft, f"ex{n}.stimulator") and _fingerprint(_written_steps(draft, n)) == text(draft, f"ex{n}.steps_made"):
        write_steps(draft, n, known, t)


def steps_are_stale(draft: Typed, n: int, known: Known, t: Translate) -> bool:
    """Tells whether steps that someone changed were written for another stimulator, other pads or settings."""
    made = text(draft, f"ex{n}.steps_made")
    return bool(made) and made != _fingerprint([row[0] for row in _made_steps(draft, n, known, t)])
