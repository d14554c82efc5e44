"""How long the report and the FHIR bundle of a year take: the aim is two seconds each, on two cores."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

from tests.exports.invented_practice import InventedPractice
from tests.therapist.house import Browser, House
from webapp.storage import records
from webapp.therapist.report_facts import PARTS

DAYS = 365
AIM_S = 2.0


def run() -> None:
    """Prints the best of three of each request, whole: read from the database, computed, written."""
    with TemporaryDirectory() as folder:
        house = House(Path(folder))
        practice = InventedPractice(house, DAYS)
        n = len(records.of_client(house.db, practice.client_id))
        lead = house.browser("ines")
        client = f"/clinic/clients/{practice.client_id}"
        fields = {"csrf_token": lead.token(), "reader": "doctor", "parts": list(PARTS), "words_agreed": "yes",
                  "first": practice.first.isoformat(), "last": practice.today.isoformat()}
        for name, method, path in (
                ("report, made and kept", "POST", "report/new"), ("report as PDF", "GET", "report/1/pdf"),
                ("FHIR bundle", "POST", "fhir"), ("sessions as CSV", "POST", "sessions.csv"),
                ("everything held", "POST", "everything")):
            best_s, busy_s, size = _best(lead, method, f"{client}/{path}", fields)
            print(f"   {name}, a year of {n} sessions: {best_s:.2f} s ({busy_s:.2f} s of a processor),"
                  f" {size / 1000:.0f} kB; the aim is {AIM_S:g} s")
        house.close()


def _best(browser: Browser, method: str, path: str, fields: Mapping[str, object]) -> tuple[float, float, int]:
    """Gives the best time by the clock, the best of the processor, and the size of the answer."""
    best_s = busy_s = float("inf")
    size = 0
    for _ in range(3):
        began, busy = perf_counter(), process_time()
        answer = browser.client.open(path, method=method, data=fields if method == "POST" else None)
        best_s, busy_s, size = (min(best_s, perf_counter() - began), min(busy_s, process_time() - busy),
                                len(answer.data))
    return best_s, busy_s, size
