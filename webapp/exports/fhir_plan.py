"""The programme in FHIR: a care plan, and for each version and exercise an order of the unit with its settings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.exports.fhir_codes import Resource, concept, quantity
from webapp.exports.fhir_facts import FhirFacts, Named, Names
from webapp.practice.schedule import PlanVersion
from webapp.translations import Translate

UNITS = {"hz": "Hz", "us": "us", "s": "s", "min": "min", "ma": "mA", "cm2": "cm2", "level": "{level}", "ratio": "1"}
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
WHEN = {"morning": "MORN", "midday": "NOON", "afternoon": "AFT", "evening": "EVE"}


def plan_resources(facts: FhirFacts, names: Names) -> list[Named]:
    """Writes the unit, an order for each version's exercises, and the care plan over them."""
    if not facts.issued:
        return []
    orders = [(version, exercise) for issued, version in zip(facts.issued, facts.versions, strict=True)
              for exercise in issued["exercises"] for version in [version]]
    unit: Resource = {"resourceType": "Device", "status": "active",
                      "type": concept("stimulator", facts.t("fhir.stimulator")), "patient": names.subject}
    return [(names.of("unit"), unit),
            *((names.of("order", v.version, e["exercise"]), _order(facts, names, v, e)) for v, e in orders),
            (names.of("care-plan"), _care_plan(facts, names))]


def _care_plan(facts: FhirFacts, names: Names) -> Resource:
    first, newest = facts.versions[0], facts.versions[-1]
    plan: Resource = {
        "resourceType": "CarePlan", "status": "active" if facts.today <= newest.last_day else "completed",
        "intent": "plan", "title": facts.t("fhir.care_plan"), "subject": names.subject,
        "period": {"start": first.starts.isoformat(), "end": newest.last_day.isoformat()},
        "activity": [{"reference": names.reference("order", newest.version, e.exercise)} for e in newest.exercises]}
    if facts.goals:
        plan["goal"] = [names.reference("goal", g.number) for g in facts.goals]
    return plan


def _order(facts: FhirFacts, names: Names, version: PlanVersion, exercise: Mapping[str, Any]) -> Resource:
    number = exercise["exercise"]
    ended = version is not facts.versions[-1] or facts.today > version.last_day
    order: Resource = {
        "resourceType": "DeviceRequest", "status": "completed" if ended else "active", "intent": "order",
        "identifier": [{"system": "urn:wattlebird:plan", "value": f"{facts.client_code}/{version.version}/{number}"}],
        "codeCodeableConcept": concept("stimulator", facts.t("fhir.stimulator")), "subject": names.subject,
        "authoredOn": version.starts.isoformat(), "occurrenceTiming": _timing(version, exercise),
        "parameter": list(_parameters(facts.t, exercise))}
    before = [v for v in facts.versions if v.version < version.version and v.exercise(number) is not None]
    if before:
        order["priorRequest"] = [names.reference("order", before[-1].version, number)]
    return order


def _timing(version: PlanVersion, exercise: Mapping[str, Any]) -> Resource:
    repeat: Resource = {
        "boundsPeriod": {"start": version.starts.isoformat(), "end": version.last_day.isoformat()},
        "duration": exercise["settings"]["session_min"], "durationUnit": "min", "frequency": exercise["times_a_day"],
        "period": 1, "periodUnit": "d", "dayOfWeek": [DAYS[day - 1] for day in exercise["days"]]}
    when = [WHEN[slot] for slot in exercise.get("slots", ()) if slot in WHEN]
    if when:
        repeat["when"] = when
    return {"repeat": repeat}


def _parameters(t: Translate, exercise: Mapping[str, Any]) -> Iterator[Resource]:
    """Lists the settings, each with the unit that stands in its name; a word is a concept of our own."""
    for name, value in exercise["settings"].items():
        if name not in {"format", "channels"}:
            yield _parameter(t, name, value, "")
    for n, (dosed, channel) in enumerate(zip(exercise["settings"]["channels"], exercise["channels"], strict=True), 1):
        for name, value in (*dosed.items(), *((k, v) for k, v in channel.items() if k.startswith("ceiling_"))):
            yield _parameter(t, name, value, f"-{n}")


def _parameter(t: Translate, name: str, value: object, which: str) -> Resource:
    code = name.replace("_", "-") + which
    said: Resource = {"code": concept(code, t(f"fhir.setting.{name}") + which.replace("-", " "))}
    unit = UNITS.get(name.rsplit("_", 1)[-1])
    if isinstance(value, bool):
        return said | {"valueBoolean": value}
    if isinstance(value, int | float) and unit:
        return said | {"valueQuantity": quantity(value, unit)}
    word = str(value)
    return said | {"valueCodeableConcept": concept(f"{name}-{word}".replace("_", "-"), word.replace("_", " "))}
