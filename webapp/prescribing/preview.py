"""A plan as it stands, whole enough to be seen as the client will see it; nothing of it is kept."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from webapp.prescribing.drafting import Known, read_draft
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.prescribing.readiness import carried, read_standing
from webapp.storage import drafts, plans
from webapp.storage.clients import Client
from webapp.storage.database import Db
from webapp.translations import translator

EVERY_DAY = [1, 2, 3, 4, 5, 6, 7]


def plan_to_preview(db: Db, client: Client, now_ms: int) -> dict[str, Any]:
    """Gives the draft, or the newest version where there is none, as a plan that begins today and has practice today.

    Raises ReadingError where it is not whole, and LookupError where there is neither.
    """
    known = read_known(db, client, now_ms)
    saved, last = drafts.read(db, client.id), plans.newest(db, client.id)
    if saved is None and last is None:
        raise LookupError("nothing to preview")
    issued: dict[str, Any] = dict(read_draft(saved.content, known) if saved else last.issued if last else {})
    standing = read_standing(db, client.id, issued, now_ms, translator("en"))
    today = date.fromisoformat(known.today)
    shown = {"issued_on": known.today, "first_day": known.today, "last_day": (today + timedelta(days=7)).isoformat(),
             "exercises": [one | {"days": EVERY_DAY} for one in issued["exercises"]], "changes": []}
    return complete(issued | carried(db, standing, translator("en")) | shown)


def exercise_to_try(db: Db, client: Client, number: int, now_ms: int) -> tuple[dict[str, Any], Known]:
    """Gives one exercise of the draft as it stands, whole or not, or of the newest version where there is no draft.

    Raises LookupError where there is no such exercise.
    """
    known = read_known(db, client, now_ms)
    saved, last = drafts.read(db, client.id), plans.newest(db, client.id)
    exercises = read_draft(saved.content, known)["exercises"] if saved else last.issued["exercises"] if last else []
    found: list[dict[str, Any]] = [one for one in exercises if one["exercise"] == number]
    if not found:
        raise LookupError(f"no exercise {number} to try")
    return found[0], known
