"""What the review says of the time before a plan went home: the screening, the teach-back, what was overridden."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from webapp.prescribing.readiness import Standing, read_standing
from webapp.serving import database, now_ms
from webapp.serving import texts as translate
from webapp.storage import plans
from webapp.therapist import blueprint
from webapp.therapist.form import Form
from webapp.therapist.screening_words import ScreeningWords


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeHome:
    """How a client stands for the plan that they have."""

    standing: Standing
    words: ScreeningWords
    exercises: tuple[dict[str, Any], ...]

    @property
    def newest_ms(self) -> int:
        return max((item.answer.made_ms for item in self.standing.screening.items if item.answer), default=0)


@blueprint.app_template_global()
def before_home(client_id: int) -> BeforeHome | None:
    """Reads it for a client's newest version; None where there is no plan yet."""
    last = plans.newest(database(), client_id)
    if last is None:
        return None
    standing = read_standing(database(), client_id, last.issued, now_ms(), translate())
    words = ScreeningWords.made(database(), translate(), Form({}))
    return BeforeHome(standing=standing, words=words, exercises=tuple(last.issued["exercises"]))
