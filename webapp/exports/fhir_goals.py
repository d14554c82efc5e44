"""Goals and measures in FHIR: a goal with how far it was reached, an observation for each review and reading."""

from __future__ import annotations

from collections.abc import Iterator

from webapp.exports.fhir_codes import GOAL_ACHIEVEMENT, Resource, concept, quantity
from webapp.exports.fhir_facts import FhirFacts, Named, Names
from webapp.practice.goals import LEVELS, Goal, course, newest_review
from webapp.practice.measures import Measure

# units of a clinic's own measures that have a certain UCUM code; any other goes as plain text without a code
UCUM_OF = {"kg": "kg", "g": "g", "N": "N", "s": "s", "min": "min", "mm": "mm", "cm": "cm", "m": "m", "°": "deg",
           "deg": "deg", "%": "%"}  # fmt: skip


def goal_resources(facts: FhirFacts, names: Names) -> list[Named]:
    """Writes goals, the levels found at reviews, the T-score at each, and every reading of a measure."""
    return [*((names.of("goal", g.number), _goal(facts, names, g, n)) for n, g in enumerate(facts.goals, 1)),
            *_levels(facts, names), *_scores(facts, names), *_readings(facts, names)]


def _goal(facts: FhirFacts, names: Names, goal: Goal, n: int) -> Resource:
    """Writes one goal; its words and levels only with the client's say."""
    t = facts.t
    written: Resource = {
        "resourceType": "Goal", "lifecycleStatus": "cancelled" if goal.set_aside else "active",
        "description": {"text": goal.words if facts.words else t("report.goal_n", n=n)}, "subject": names.subject,
        "startDate": goal.set_on.isoformat(),
        "achievementStatus": {"coding": [{"system": GOAL_ACHIEVEMENT, "code": achievement(facts, goal)}]},
        "target": [{"measure": concept("goal-level", t("fhir.goal_level")), "detailInteger": 0}]}
    if goal.set_aside and facts.words:
        written["statusReason"] = goal.set_aside
    if facts.words:
        written["note"] = [{"text": "\n".join(f"{level:+d}: {goal.level_words(level)}" for level in LEVELS)}]
    return written


def achievement(facts: FhirFacts, goal: Goal) -> str:
    """Says how far a goal is by its newest review: reached from the expected level on."""
    newest = newest_review(goal, facts.reviews, facts.today)
    if newest is None:
        return "in-progress"
    if newest.level >= 0:
        return "achieved"
    if newest.level == goal.baseline:
        return "no-change"
    return "improving" if newest.level > goal.baseline else "worsening"


def _levels(facts: FhirFacts, names: Names) -> Iterator[Named]:
    known = {g.number for g in facts.goals}
    for n, review in enumerate(r for r in facts.reviews if r.goal in known):
        yield names.of("level", review.goal, review.day, n), {
            "resourceType": "Observation", "status": "final", "subject": names.subject,
            "focus": [names.reference("goal", review.goal)], "effectiveDateTime": review.day.isoformat(),
            "code": concept("goal-level", facts.t("fhir.goal_level")),
            "valueQuantity": quantity(review.level, "{score}")}


def _scores(facts: FhirFacts, names: Names) -> Iterator[Named]:
    for n, found in enumerate(course(facts.goals, facts.reviews)):
        if found.t_score is not None:
            yield names.of("t-score", n), {
                "resourceType": "Observation", "status": "final", "subject": names.subject,
                "effectiveDateTime": found.day.isoformat(), "code": concept("t-score", facts.t("goals.score")),
                "valueQuantity": quantity(round(found.t_score, 4), "{T-score}")}


def _readings(facts: FhirFacts, names: Names) -> Iterator[Named]:
    measures = {m.number: m for m in facts.measures}
    for n, reading in enumerate(facts.readings):
        measure = measures[reading.measure]
        yield names.of("reading", reading.measure, reading.day, n), {
            "resourceType": "Observation", "status": "final", "subject": names.subject,
            "effectiveDateTime": reading.day.isoformat(), "code": concept(f"measure-{measure.number}", measure.name),
            "valueQuantity": _in_unit(measure, reading.value)}


def _in_unit(measure: Measure, value: float) -> Resource:
    code = UCUM_OF.get(measure.unit)
    if code:
        return quantity(value, measure.unit, code)
    return {"value": value, "unit": measure.unit} if measure.unit else quantity(value, "1")
