"""What a FHIR bundle is written from, and how its resources are named."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from webapp.exports.fhir_codes import OWN, Resource
from webapp.practice.goals import Goal, GoalReview
from webapp.practice.measures import Measure, Reading
from webapp.practice.schedule import PlanVersion
from webapp.practice.session import Session
from webapp.practice.summary import Summary
from webapp.translations import Translate


@dataclass(frozen=True, slots=True, kw_only=True)
class FhirFacts:
    """What the bundle is written from; `words`: the client agreed to their own words."""

    t: Translate
    client_code: str
    clinic_name: str
    today: date
    made_ms: int
    issued: Sequence[Mapping[str, Any]]  # every version, the oldest first
    versions: Sequence[PlanVersion]
    sessions: Sequence[Session]
    summary: Summary
    goals: Sequence[Goal]
    reviews: Sequence[GoalReview]
    measures: Sequence[Measure]
    readings: Sequence[Reading]
    words: bool


@lru_cache(maxsize=10_000)
def _address(about: str) -> str:
    return f"urn:uuid:{uuid5(NAMESPACE_URL, about)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """Gives each resource of a client the same address in every bundle."""

    client_code: str

    def of(self, *about: object) -> str:
        return _address("/".join([OWN, self.client_code, *map(str, about)]))

    def reference(self, *about: object) -> Resource:
        return {"reference": self.of(*about)}

    @property
    def subject(self) -> Resource:
        return self.reference("patient")


Named = tuple[str, Resource]
