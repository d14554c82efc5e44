"""Issuing: a checked plan becomes the next version, for ever, and its pack is asked for."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from webapp.errors import refuse
from webapp.formats.issued_json import read_issued, write_issued
from webapp.prescribing.changes import compare
from webapp.prescribing.checking import check_exercise
from webapp.prescribing.readiness import carried, read_standing
from webapp.stimulation.finding import STOP
from webapp.storage import drafts, jobs, plans
from webapp.storage.database import Db
from webapp.translations import translator


def complete(issued: Mapping[str, Any]) -> dict[str, Any]:
    """Writes an issued plan with every field, defaults spelt out; raises ReadingError where it is not whole."""
    return write_issued(read_issued(issued))


def changes_since_last(db: Db, client_id: int, issued: Mapping[str, Any]) -> dict[str, Any] | None:
    """Compares a plan with the client's newest version; None for the first plan."""
    last = plans.newest(db, client_id)
    if last is None:
        return None
    told = compare(complete(last.issued), complete(issued), translator(issued["language"]))
    return told | {"version": last.version + 1}


def issue_plan(
    db: Db, client_id: int, issued: Mapping[str, Any], *, user_id: int, now_ms: int, note: str = "",
    lapsed_reason: str = ""
) -> plans.Plan:
    """Adds a plan as the client's next version and queues its pack; needs to run inside a write transaction.

    The version, what changed since the last one (unless `issued["changes"]` tells of this version already) and what the
    screening says are set here; what changed before is carried along. `note` says why; `lapsed_reason` why it goes home
    although what was shown has changed since. Raises ReadingError where the plan is not whole, and the refusals
    `plan_has_stops` where the check finds a stop, `plan_not_ready` where screening or teach-back keep it in the clinic.
    """
    last, version = plans.newest(db, client_id), plans.next_version(db, client_id)
    told = [dict(each) for each in issued.get("changes", ()) if each["version"] == version]
    whole = dict(issued) | {"version": version}
    if last and not told:
        told = [changes_since_last(db, client_id, whole) or {}]
    whole["changes"] = [*(last.issued["changes"] if last else ()), *told]
    whole = complete(whole)
    if any(stops(exercise, version, whole["first_day"]) for exercise in whole["exercises"]):
        raise refuse("plan_has_stops")
    t = translator("en")  # the therapists' language
    standing = read_standing(db, client_id, whole, now_ms, t)
    if standing.obstacles or (standing.lapsed and not lapsed_reason):
        raise refuse("plan_not_ready")
    whole = complete(whole | carried(db, standing, t))
    if lapsed_reason:
        note = "\n".join((note, lapsed_reason))
    text = json.dumps(whole, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    plan_id = plans.insert(
        db, client_id=client_id, version=version, issued=text, note=note, user_id=user_id, now_ms=now_ms
    )
    drafts.discard(db, client_id)
    jobs.add(db, "make_pack", plan_id, now_ms)
    made = plans.read(db, plan_id)
    if made is None:
        raise LookupError("a plan that was just issued is not there")
    return made


def stops(exercise: dict[str, Any], version: int, first_day: str) -> bool:
    """Tells whether the check finds a stop in an exercise."""
    checked = check_exercise({}, exercise, first_plan=version == 1, first_day=first_day)
    return bool(checked.troubles) or any(found.finding.severity == STOP for found in checked.findings)
