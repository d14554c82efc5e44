"""What is handed out is what was looked at: `python -m tests.exports.test_golden` writes it anew, for another look."""

from __future__ import annotations

import json
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.exports.invented_practice import InventedPractice
from tests.exports.test_calendar import T, plan
from tests.exports.test_fhir import facts_of
from tests.exports.test_report import make
from tests.therapist.house import House
from webapp.exports.calendar import write_calendar
from webapp.exports.fhir import write_bundle
from webapp.exports.report import write_report
from webapp.exports.tables import sessions_csv

FOLDER = Path(__file__).resolve().parents[1] / "golden"


def indented(text: str | bytes) -> bytes:
    return (json.dumps(json.loads(text), ensure_ascii=False, indent=1) + "\n").encode()


def handed_out(practice: InventedPractice) -> dict[str, bytes]:
    """Makes each file from the invented practice."""
    facts = facts_of(practice, words=True)
    return {"bundle.json": indented(write_bundle(facts_of(practice))),
            "sessions.csv": sessions_csv(facts.sessions, facts.versions, words=True),
            "practice.ics": write_calendar(plan(), T),
            "report.json": indented(write_report(make(practice, practice.house.browser("ines"))))}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    house = House(tmp_path_factory.mktemp("golden"))
    found = handed_out(InventedPractice(house, days=6))
    house.close()
    return found


@pytest.mark.parametrize("name", ["bundle.json", "sessions.csv", "practice.ics", "report.json"])
def test_file_is_the_golden_one(files: dict[str, bytes], name: str) -> None:
    """Byte for byte."""
    assert files[name].decode() == (FOLDER / name).read_bytes().decode()


if __name__ == "__main__":
    with TemporaryDirectory() as folder:
        for name, content in handed_out(InventedPractice(House(Path(folder)), days=6)).items():
            (FOLDER / name).write_bytes(content)
