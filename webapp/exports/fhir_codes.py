"""Codes of the FHIR bundle: where one is certain it is used, else one of our own with plain text.

LOINC 72514-3 is the 0 to 10 verbal numeric pain rating, reported; the number goes as a quantity, never as an answer
code. Units are UCUM; an annotation in braces says nothing to a machine, so what it means is in the code as well.
The required value sets are those of HL7 FHIR R4 (4.0.1), restated here from its published tables, since structural
models do not check them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

Resource = dict[str, Any]

OWN = "urn:wattlebird:codes"
LOINC, UCUM = "http://loinc.org", "http://unitsofmeasure.org"
PAIN = ("72514-3", "Pain severity - 0-10 verbal numeric rating [Score] - Reported")
GOAL_ACHIEVEMENT = "http://terminology.hl7.org/CodeSystem/goal-achievement"

REQUEST_STATUS = frozenset({"draft", "active", "on-hold", "revoked", "completed", "entered-in-error", "unknown"})
REQUEST_INTENT = frozenset({"proposal", "plan", "directive", "order", "original-order", "reflex-order", "filler-order",
                            "instance-order", "option"})  # fmt: skip
REQUIRED: Mapping[tuple[str, str], frozenset[str]] = {
    ("Bundle", "type"): frozenset({"document", "message", "transaction", "transaction-response", "batch",
                                   "batch-response", "history", "searchset", "collection"}),
    ("CarePlan", "status"): REQUEST_STATUS,
    ("CarePlan", "intent"): frozenset({"proposal", "plan", "order", "option"}),
    ("DeviceRequest", "status"): REQUEST_STATUS,
    ("DeviceRequest", "intent"): REQUEST_INTENT,
    ("Device", "status"): frozenset({"active", "inactive", "entered-in-error", "unknown"}),
    ("Procedure", "status"): frozenset({"preparation", "in-progress", "not-done", "on-hold", "stopped", "completed",
                                        "entered-in-error", "unknown"}),
    ("Observation", "status"): frozenset({"registered", "preliminary", "final", "amended", "corrected", "cancelled",
                                          "entered-in-error", "unknown"}),
    ("Goal", "lifecycleStatus"): frozenset({"proposed", "planned", "accepted", "active", "on-hold", "completed",
                                            "cancelled", "entered-in-error", "rejected"}),
    ("Questionnaire", "status"): frozenset({"draft", "active", "retired", "unknown"}),
    ("QuestionnaireResponse", "status"): frozenset({"in-progress", "completed", "amended", "entered-in-error",
                                                    "stopped"}),
    ("CodeSystem", "status"): frozenset({"draft", "active", "retired", "unknown"}),
    ("CodeSystem", "content"): frozenset({"not-present", "example", "fragment", "complete", "supplement"}),
}  # fmt: skip
REQUIRED_ANYWHERE: Mapping[str, frozenset[str]] = {  # by the name of the field, at any depth
    "periodUnit": frozenset({"s", "min", "h", "d", "wk", "mo", "a"}),
    "durationUnit": frozenset({"s", "min", "h", "d", "wk", "mo", "a"}),
    "dayOfWeek": frozenset({"mon", "tue", "wed", "thu", "fri", "sat", "sun"}),
    "when": frozenset({"MORN", "MORN.early", "MORN.late", "NOON", "AFT", "AFT.early", "AFT.late", "EVE", "EVE.early",
                       "EVE.late", "NIGHT", "PHS", "HS", "WAKE", "C", "CM", "CD", "CV", "AC", "ACM", "ACD", "ACV", "PC",
                       "PCM", "PCD", "PCV"}),
}  # fmt: skip
ITEM_TYPES = frozenset({"group", "display", "question", "boolean", "decimal", "integer", "date", "dateTime", "time",
                        "string", "text", "url", "choice", "open-choice", "attachment", "reference",
                        "quantity"})  # fmt: skip
ACHIEVEMENT = frozenset({"in-progress", "improving", "worsening", "no-change", "achieved", "sustaining", "not-achieved",
                         "no-progress", "not-attainable"})  # fmt: skip
UNITS = frozenset({"Hz", "us", "ms", "mA", "s", "min", "h", "d", "wk", "mm", "cm", "cm2", "m", "kg", "g", "N", "deg",
                   "%", "1", "{score}", "{level}", "{contractions}", "{sessions}", "{T-score}"})  # fmt: skip


def wrong_codes(resource: Resource) -> list[str]:
    """Lists every code outside its required value set or this table of units, in a bundle or a resource."""
    return list(_wrong(resource, str(resource.get("resourceType", ""))))


def _wrong(node: Any, path: str) -> Iterator[str]:
    if isinstance(node, list):
        for n, item in enumerate(node):
            if isinstance(item, dict | list):
                yield from _wrong(item, f"{path}[{n}]")
    elif isinstance(node, dict):
        yield from _wrong_here(node, path)
        for name, value in node.items():
            if isinstance(value, dict | list):
                yield from _wrong(value, f"{path}.{name}")


def _wrong_here(node: Resource, path: str) -> Iterator[str]:
    if kind := node.get("resourceType"):
        for (of, name), allowed in REQUIRED.items():
            if kind == of and node.get(name) not in allowed:
                yield f"{path}.{name}: {node.get(name)!r}"
    for name in REQUIRED_ANYWHERE.keys() & node.keys():
        given = [node[name]] if isinstance(node[name], str) else node[name]
        yield from (f"{path}.{name}: {one!r}" for one in given if one not in REQUIRED_ANYWHERE[name])
    system = node.get("system")
    if system == UCUM and node.get("code") not in UNITS:
        yield f"{path}.code: {node.get('code')!r} is no unit of this table"
    if system == GOAL_ACHIEVEMENT and node.get("code") not in ACHIEVEMENT:
        yield f"{path}.code: {node.get('code')!r}"
    if "linkId" in node and "type" in node and node["type"] not in ITEM_TYPES:
        yield f"{path}.type: {node['type']!r}"


def concept(code: str, text: str) -> Resource:
    """Gives a concept of our own code system with its plain text."""
    return {"coding": [{"system": OWN, "code": code, "display": text}], "text": text}


def quantity(value: float, unit: str, code: str | None = None) -> Resource:
    """Gives a quantity; `code` is its UCUM code, the unit itself where left out."""
    return {"value": value, "unit": unit, "system": UCUM, "code": unit if code is None else code}


def own_codes(resources: list[Resource]) -> Resource:
    """Writes the code system of our own: every code that the resources use, with its text."""
    used = dict(sorted(set(_codings(resources))))
    return {"resourceType": "CodeSystem", "url": OWN, "status": "active", "content": "complete", "caseSensitive": True,
            "name": "WattlebirdCodes", "concept": [{"code": code, "display": text} for code, text in used.items()]}


def _codings(node: Any) -> Iterator[tuple[str, str]]:
    if isinstance(node, dict):
        if node.get("system") == OWN and "code" in node:
            yield str(node["code"]), str(node["display"])
        node = list(node.values())
    for item in node:
        if isinstance(item, dict | list):
            yield from _codings(item)
