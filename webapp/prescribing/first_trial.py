"""The first trial of a draft or an issued exercise: what it proposes, what is missing, what it finds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.prescribing.drafting import PADS, TRIAL, Typed, channel_count, number, text
from webapp.prescribing.tested import TESTED_RULES
from webapp.stimulation.finding import CAUTION, NOTE, STOP, Finding, make_finding
from webapp.stimulation.first_trial import FIRST_SESSIONS_MIN, proposed_ceiling, proposed_strength
from webapp.stimulation.units import number_text

Exercise = Mapping[str, Any]
TRIAL_RULES = frozenset({"no_movement", "above_trial", "above_trial_seen", "below_movement", "trial_order",
                         "first_sessions_long", "steady_without_feeling"}) | TESTED_RULES


def step_of(stimulator: Mapping[str, Any]) -> float:
    """Gives the step in which a unit's strength is set."""
    measure = "intensity_level" if stimulator.get("shows") == "level" else "intensity_ma"
    found = [one for one in stimulator.get("settings", ()) if one["name"] == measure]
    return float(found[0].get("step") or 1) if found else 1.0


def proposals(draft: Typed, n: int, stimulator: Mapping[str, Any]) -> dict[str, str]:
    """Proposes strength and ceiling of each channel from its trial: field → value, where the trial says enough."""
    found: dict[str, str] = {}
    for c in range(1, channel_count(draft, f"ex{n}") + 1):
        ch, step = f"ex{n}.ch{c}", step_of(stimulator)
        moved, most = (_figure(draft, f"{ch}.{name}") for name in ("moved", "most"))
        if most is not None:
            found[f"{ch}.ceiling"] = number_text(proposed_ceiling(most, step))
            if moved is not None and moved <= most:
                found[f"{ch}.intensity"] = number_text(proposed_strength(moved, most, step))
    return found


def use_trial(draft: Typed, n: int, stimulator: Mapping[str, Any]) -> None:
    """Puts what the trial proposes into a draft."""
    draft.update(proposals(draft, n, stimulator))


def _figure(draft: Typed, name: str) -> float | None:
    found = number(text(draft, name))
    return None if isinstance(found, str) else float(found)


def missing(exercise: Exercise) -> Iterator[str]:
    """Names what was not found out yet, as fields of the form within an exercise (`ch1.moved`, `skin_at_rest`)."""
    works = exercise["settings"].get("drive") != "steady"
    for c, channel in enumerate(exercise["channels"], 1):
        trial = channel.get("trial") or {}
        if works and trial.get("movement_seen", True):
            yield from (f"ch{c}.{name}" for name in ("moved", "most") if TRIAL[name] not in trial)
        for pad, placed in zip(PADS, channel["pads"], strict=False):
            if not placed.get("sensation"):
                yield f"ch{c}.{pad}.sensation"
    if not exercise.get("skin_at_rest"):
        yield "skin_at_rest"


def trial_findings(exercise: Exercise, *, first_day: str, first_plan: bool) -> Iterator[Finding]:
    """Finds what the trial and the feeling under the pads say about an exercise."""
    loss = bool(exercise.get("sensory_loss"))
    steady = exercise["settings"].get("drive") == "steady"
    for n, channel in enumerate(exercise["channels"]):
        yield from _of_channel(n, channel, exercise["settings"]["channels"][n], loss=loss, steady=steady)
    if loss and steady:
        yield make_finding(CAUTION, "steady_without_feeling", source="practice", field="drive")
    if loss:
        yield from _first_sessions(exercise, first_day, first_plan=first_plan)


def _of_channel(n: int, channel: Exercise, dosed: Exercise, *, loss: bool, steady: bool) -> Iterator[Finding]:
    trial, c = channel.get("trial") or {}, n + 1
    unit = " mA" if "ceiling_ma" in channel else ""
    if not steady and not trial.get("movement_seen", True):
        yield make_finding(STOP, "no_movement", source="practice_memory", field=f"channels[{n}].moved", channel=c)
    most, moved = _number(trial.get("comfortable_most")), _number(trial.get("first_movement"))
    ceiling = _number(channel.get("ceiling_ma", channel.get("ceiling_level")))
    strength = _number(dosed.get("intensity_ma", dosed.get("intensity_level")))
    if most is not None and ceiling is not None and ceiling > most:
        yield make_finding(STOP, "above_trial_seen" if loss else "above_trial", source="practice",
                           field=f"channels[{n}].ceiling", value=ceiling, limit=most, nearest=(most,), channel=c,
                           unit=unit)
    if moved is not None and strength is not None and strength < moved and not steady:
        yield make_finding(NOTE, "below_movement", source="practice", field=f"channels[{n}].intensity", value=strength,
                           limit=moved, channel=c, unit=unit)
    if moved is not None and most is not None and moved > most:
        yield make_finding(STOP, "trial_order", source="definition", field=f"channels[{n}].most", value=most,
                           limit=moved, channel=c, unit=unit)


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def _first_sessions(exercise: Exercise, first_day: str, *, first_plan: bool) -> Iterator[Finding]:
    rows = [row for row in exercise.get("minutes_by_date", ()) if str(row["from"]) <= first_day]
    minutes = _number(rows[-1]["session_min"] if rows else exercise["settings"].get("session_min"))
    if minutes is not None and minutes > FIRST_SESSIONS_MIN:
        yield make_finding(STOP if first_plan else CAUTION, "first_sessions_long", source="practice",
                           field=f"minutes_by_date[{len(rows) - 1}].session_min" if rows else "session_min",
                           value=minutes, limit=float(FIRST_SESSIONS_MIN), nearest=(float(FIRST_SESSIONS_MIN),))


def form_field(finding: Finding) -> str:
    """Gives the form's field within an exercise that a finding is about."""
    return finding.field.replace("channels[0]", "ch1").replace("channels[1]", "ch2")



