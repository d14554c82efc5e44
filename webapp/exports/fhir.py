"""Writes what is held of a client's programme as one HL7 FHIR R4 bundle: objects in, bytes out.

Everything is keyed by the client's code; no name goes in. A client's words (goals, notes) go in only with their say.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime

from webapp.exports.fhir_codes import OWN, Resource, own_codes, wrong_codes
from webapp.exports.fhir_facts import FhirFacts, Named, Names
from webapp.exports.fhir_goals import goal_resources
from webapp.exports.fhir_plan import plan_resources
from webapp.exports.fhir_sessions import session_resources


class WrongCodeError(ValueError):
    """A bundle that would carry a code outside its value set: a fault of ours, never sent."""


def write_bundle(facts: FhirFacts) -> bytes:
    """Writes the bundle; raises WrongCodeError rather than sending a code that its value set does not have."""
    bundle = build_bundle(facts)
    if wrong := wrong_codes(bundle):
        raise WrongCodeError("; ".join(wrong[:5]))
    return json.dumps(bundle, ensure_ascii=False, separators=(",", ":")).encode()


def build_bundle(facts: FhirFacts) -> Resource:
    """Builds the bundle as a plain object."""
    names = Names(client_code=facts.client_code)
    named = [*_people(facts, names), *plan_resources(facts, names), *session_resources(facts, names),
             *goal_resources(facts, names)]
    named.append((names.of("codes"), own_codes([resource for _name, resource in named])))
    made = datetime.fromtimestamp(facts.made_ms / 1000, UTC).replace(microsecond=0).isoformat()
    return {"resourceType": "Bundle", "type": "collection", "timestamp": made,
            "identifier": {"system": OWN, "value": names.of("bundle", facts.made_ms)},
            "entry": [{"fullUrl": name, "resource": {"id": name.removeprefix("urn:uuid:"), **resource}}
                      for name, resource in named]}


def _people(facts: FhirFacts, names: Names) -> list[Named]:
    clinic = [(names.of("clinic"), {"resourceType": "Organization", "name": facts.clinic_name})] if (
        facts.clinic_name) else []
    patient: Resource = {"resourceType": "Patient",
                         "identifier": [{"system": f"{OWN}:client", "value": facts.client_code}]}
    if clinic:
        patient["managingOrganization"] = names.reference("clinic")
    return [*clinic, (names.of("patient"), patient)]
