"""Teach-back: which set-up steps a client has shown they can do, and whether *ready for home* still holds.

The therapist's decision is about what was shown: these steps, these pad places, this unit and how it is stopped. It
lapses when one changes. A decision from before anything was asked for with the unit on has lapsed too: nothing says
that the client can stop the unit. No phone stops over it; the next version goes home with a run or with a reason.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.prescribing.practised import ROWS, quickest_stop
from webapp.storage import assessments
from webapp.storage.assessments import Assessment
from webapp.storage.database import Db

TEACH_BACK, READY = "teach_back", "ready"
MARKS = ("alone", "prompt", "help")
NEVER, NOT_YET, HOLDS, LAPSED = "never", "not_yet", "holds", "lapsed"

Exercise = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """How *ready for home* stands for one exercise; `changed` says what lapsed it, by the names of `shown_of`."""

    exercise: int
    title: str
    state: str
    changed: tuple[str, ...] = ()
    decision: Assessment | None = None


def key_of(exercise: Exercise) -> str:
    """Names an exercise across versions: its movement and side."""
    return f"{exercise['movement']}:{exercise['side']}"


def shown_of(exercise: Exercise) -> dict[str, Any]:
    """Gives what is shown of an exercise: the steps, where the pads go, the unit, what is done with it on."""
    pads = [[pad.get(name) for name in ("place", "width_cm", "height_cm", "shape")]
            for channel in exercise["channels"] for pad in channel["pads"]]
    return {"steps": [_as_shown(step) for step in exercise["set_up_steps"]], "pads": pads,
            "drawn": [_drawn(channel) for channel in exercise["channels"]],
            "unit": exercise["stimulator"].get("name", ""), "practised": list(ROWS), "stop": quickest_stop(exercise)}


def _drawn(channel: Exercise) -> list[Any]:
    """Gives where a channel's pads are shown: on which drawing or photo, and where on it."""
    at = [[pad.get(name) for name in ("x_mm", "y_mm", "photo_x", "photo_y")] for pad in channel["pads"]]
    return [channel.get("view") or "", channel.get("photo") or "", at]


def _as_shown(step: Exercise) -> str | list[str]:
    """Gives a step's words, with its photo where it has one: decisions from before there were any still hold."""
    return [step["text"], step["picture"]] if step.get("picture") else str(step["text"])


def read_readiness(db: Db, client_id: int, exercises: Sequence[Exercise]) -> list[Readiness]:
    """Reads how *ready for home* stands for each exercise as it is now."""
    decisions = assessments.newest(db, client_id, READY)
    return [_readiness(exercise, decisions.get(key_of(exercise))) for exercise in exercises]


def _readiness(exercise: Exercise, decision: Assessment | None) -> Readiness:
    told: dict[str, Any] = {"exercise": exercise["exercise"], "title": exercise["title"], "decision": decision}
    if decision is None:
        return Readiness(state=NEVER, **told)
    if decision.content["decision"] != "ready":
        return Readiness(state=NOT_YET, **told)
    now, then = shown_of(exercise), decision.content["shown"]
    # older decisions do not say where the pads were drawn, nor how the unit was stopped: in that they still hold
    then = {"drawn": now["drawn"], "stop": now["stop"], **then}
    differs = [name for name in now if now[name] != then.get(name)]
    changed = tuple(dict.fromkeys("pads" if name == "drawn" else name for name in differs))
    return Readiness(state=LAPSED if changed else HOLDS, changed=changed, **told)


def record_teach_back(db: Db, client_id: int, exercise: Exercise, marks: Sequence[str], *, with_unit: bool, where: str,
                      practised: Mapping[str, str] | None = None, note: str = "", user_id: int, now_ms: int) -> None:
    """Keeps how each step went on one visit: alone, with a prompt, with help; empty: not tried.

    `practised` marks what is done with the unit on, by its row; a dry run has none of it.
    """
    steps = [{"text": step["text"], "part": step["part"], "mark": mark}
             for step, mark in zip(exercise["set_up_steps"], marks, strict=True)]
    steps += [{"text": "", "row": row, "part": "on", "mark": (practised or {}).get(row, "")}
              for row in ROWS if with_unit]
    steps = [step | {"mark": step["mark"] if step["mark"] in MARKS else ""} for step in steps]
    content = {"steps": steps, "with_unit": with_unit, "where": where, "note": note}
    assessments.add(db, client_id=client_id, kind=TEACH_BACK, subject=key_of(exercise), content=content,
                    made_ms=now_ms, made_by=user_id)


def record_ready(db: Db, client_id: int, exercise: Exercise, *, ready: bool, note: str = "", user_id: int,
                 now_ms: int) -> None:
    """Keeps the therapist's decision, about the steps, pads and unit as they are now."""
    content = {"decision": "ready" if ready else "not_yet", "shown": shown_of(exercise), "note": note}
    assessments.add(db, client_id=client_id, kind=READY, subject=key_of(exercise), content=content, made_ms=now_ms,
                    made_by=user_id)


def last_marks(of: Sequence[Assessment]) -> dict[str, tuple[str, Assessment]]:
    """Gives how each step went when it was last marked, by its words or its row, with the visit; newest first."""
    found: dict[str, tuple[str, Assessment]] = {}
    for visit in of:
        for step in visit.content["steps"]:
            if step["mark"]:
                found.setdefault(step.get("row") or step["text"], (step["mark"], visit))
    return found


def visits(db: Db, client_id: int, exercise: Exercise) -> list[Assessment]:
    """Reads every visit on which the steps of an exercise were run, the newest first."""
    return [one for one in assessments.of_client(db, client_id, TEACH_BACK) if one.subject == key_of(exercise)]
