"""The FHIR bundle: valid by a reference library, right by its value sets, the same numbers as the screen.

Structure is checked by the R4B models of fhir.resources (pydantic models generated from HL7's definitions): the
resources used here are unchanged between R4 and R4B. Required value sets are HL7 FHIR R4's (4.0.1).
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from copy import deepcopy
from dataclasses import fields
from typing import Any

import pytest
from fhir.resources.R4B import get_fhir_model_class
from pydantic import ValidationError

from tests.exports.invented_practice import CODE, HOPE, NAME, NOTE, WORDS, InventedPractice
from webapp.exports.fhir import write_bundle
from webapp.exports.fhir_codes import wrong_codes
from webapp.exports.fhir_facts import FhirFacts
from webapp.stimulation.plan import Channel, Settings
from webapp.storage import clients
from webapp.therapist.files import fhir_facts
from webapp.therapist.report import read_log
from webapp.translations import catalogue


def facts_of(practice: InventedPractice, *, words: bool = False) -> FhirFacts:
    with practice.house.app.test_request_context("/clinic/"):
        client = clients.read(practice.house.db, practice.client_id)
        assert client
        return fhir_facts(read_log(client), words=words)


@pytest.fixture(scope="module")
def written(practice: InventedPractice) -> bytes:
    return write_bundle(facts_of(practice))


@pytest.fixture
def bundle(written: bytes) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(written)
    return found


def resources(bundle: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == kind]


def code_of(resource: dict[str, Any]) -> set[str]:
    return {coding["code"] for coding in resource["code"]["coding"]}


def test_reference_models_take_every_resource(bundle: dict[str, Any]) -> None:
    """Bundle and each resource are valid by the reference library's models; one field more is not."""
    get_fhir_model_class("Bundle").model_validate(bundle)
    kinds = Counter(e["resource"]["resourceType"] for e in bundle["entry"])
    assert {"CarePlan", "DeviceRequest", "Procedure", "Observation", "Goal", "Questionnaire", "QuestionnaireResponse",
            "CodeSystem", "Patient", "Device"} <= set(kinds)
    odd = deepcopy(bundle)
    odd["entry"][0]["resource"]["shoeSize"] = 43
    with pytest.raises(ValidationError):
        get_fhir_model_class("Bundle").model_validate(odd)


def test_every_reference_leads_somewhere(bundle: dict[str, Any]) -> None:
    """Each reference names a resource of the bundle, and no address is given twice."""
    addresses = [entry["fullUrl"] for entry in bundle["entry"]]
    assert len(addresses) == len(set(addresses))
    named = set(_references(bundle))
    assert len(named) > 5
    assert named <= set(addresses)


def _references(node: Any) -> list[str]:
    if isinstance(node, dict):
        own = [node["reference"]] if isinstance(node.get("reference"), str) else []
        return own + [one for value in node.values() for one in _references(value)]
    return [one for item in node for one in _references(item)] if isinstance(node, list) else []


def test_codes_are_in_their_value_sets(bundle: dict[str, Any]) -> None:
    """No code of the bundle lies outside its required value set or the table of units."""
    assert wrong_codes(bundle) == []


SPOILT: list[tuple[str, Callable[[dict[str, Any]], Any]]] = [
    ("status", lambda b: resources(b, "Procedure")[0].update(status="finished")),
    ("intent", lambda b: resources(b, "DeviceRequest")[0].update(intent="prescription")),
    ("status", lambda b: resources(b, "CarePlan")[0].update(status="live")),
    ("lifecycleStatus", lambda b: resources(b, "Goal")[0].update(lifecycleStatus="reached")),
    ("achieved", lambda b: resources(b, "Goal")[0]["achievementStatus"]["coding"][0].update(code="achieved!")),
    ("status", lambda b: resources(b, "Observation")[0].update(status="done")),
    ("status", lambda b: resources(b, "QuestionnaireResponse")[0].update(status="answered")),
    ("type", lambda b: resources(b, "Questionnaire")[0]["item"][0].update(type="select")),
    ("dayOfWeek", lambda b: _repeat(b).update(dayOfWeek=["monday"])),
    ("periodUnit", lambda b: _repeat(b).update(periodUnit="day")),
    ("when", lambda b: _repeat(b).update(when=["MORNING"])),
    ("type", lambda b: b.update(type="bag")),
    ("unit", lambda b: resources(b, "Observation")[0]["valueQuantity"].update(code="[NRS]")),
    ("unit", lambda b: resources(b, "Observation")[0]["valueQuantity"].update(code="minutes")),
]


def _repeat(bundle: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = resources(bundle, "DeviceRequest")[0]["occurrenceTiming"]["repeat"]
    return found


@pytest.mark.parametrize(("word", "spoil"), SPOILT, ids=range(len(SPOILT)))
def test_a_wrong_code_is_found(bundle: dict[str, Any], word: str, spoil: Callable[[dict[str, Any]], Any]) -> None:
    """One code outside its value set is named; models alone would not see most of these."""
    spoil(bundle)
    [found] = wrong_codes(bundle)
    assert word in found


def test_no_name_goes_in_and_words_only_with_their_say(practice: InventedPractice) -> None:
    """The code stands for the client; goals and notes in their words come with their say only."""
    without, with_words = (write_bundle(facts_of(practice, words=words)).decode() for words in (False, True))
    assert CODE in without
    for private in (NAME, "000 555 0199", "likes mornings", WORDS, HOPE, "hurt a little"):
        assert private not in without
    assert NAME not in with_words
    assert WORDS in with_words
    assert json.dumps(NOTE, ensure_ascii=False)[1:-1] in with_words


def test_numbers_are_those_of_the_review(practice: InventedPractice, bundle: dict[str, Any]) -> None:
    """A procedure for each session, its minutes and answers, and the shares of the review."""
    facts = facts_of(practice)
    assert len(resources(bundle, "Procedure")) == len(facts.sessions) > 80
    observed = resources(bundle, "Observation")
    minutes = [o["valueQuantity"]["value"] for o in observed if "minutes-cued" in code_of(o)]
    assert sum(minutes) == pytest.approx(facts.summary.total.cued_s / 60)
    pains = [o["valueQuantity"] for o in observed if "pain-after" in code_of(o)]
    assert [p["value"] for p in pains] == [s.pain_after for s in facts.sessions if s.pain_after is not None]
    assert len(pains) < len(facts.sessions)
    assert {p["code"] for p in pains} == {"{score}"}
    assert all("72514-3" in code_of(o) for o in observed if "pain-after" in code_of(o))
    [share] = [o for o in observed if "sessions-share" in code_of(o)]
    total = facts.summary.total
    assert total.sessions_share is not None
    assert share["valueQuantity"]["value"] == round(100 * total.sessions_share, 1)
    assert [c["valueQuantity"]["value"] for c in share["component"]] == [total.done_n, total.due_n]


def test_order_carries_the_settings(bundle: dict[str, Any]) -> None:
    """Each version's exercise is an order of the unit with every setting in its unit; a later one names the earlier."""
    orders = resources(bundle, "DeviceRequest")
    assert [o["status"] for o in orders] == ["completed", "active", "active"]
    said = {p["code"]["coding"][0]["code"]: p.get("valueQuantity") for p in orders[0]["parameter"]}
    assert said["frequency-hz"] == {"value": 35, "unit": "Hz", "system": "http://unitsofmeasure.org", "code": "Hz"}
    assert said["pulse-width-us"]["code"] == "us"
    assert (said["ceiling-ma-1"]["value"], said["ceiling-ma-1"]["code"]) == (28, "mA")
    assert orders[0]["occurrenceTiming"]["repeat"]["when"] == ["MORN", "EVE"]
    assert orders[1]["priorRequest"][0]["reference"].startswith("urn:uuid:")


def test_every_setting_of_a_plan_has_its_text() -> None:
    """A setting that a plan may hold can be named in an order."""
    names = {f.name for kind in (Settings, Channel) for f in fields(kind)} - {"channels"}
    assert {f"fhir.setting.{name}" for name in names} <= catalogue("en").keys()


def test_own_code_system_holds_every_own_code(bundle: dict[str, Any]) -> None:
    """Each code of ours is defined with its plain text in the bundle's code system."""
    [system] = resources(bundle, "CodeSystem")
    known = {c["code"]: c["display"] for c in system["concept"]}
    used = {(c["code"], c["display"]) for o in resources(bundle, "Observation") for c in o["code"]["coding"]
            if c["system"] == system["url"]}
    assert len(used) > 10
    assert all(known[code] == text for code, text in used)
