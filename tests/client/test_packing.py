"""A pack: the same bytes in a year, small, whole, and nothing in it that belongs to one phone."""

from __future__ import annotations

import gzip
import json
import os
import posixpath
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.client.conftest import NOW_MS, Desk
from tests.client.invented_clinic import add_plan
from webapp.client.blobs import find_blob
from webapp.client.packing import PackFile
from webapp.client.reachable import reachable
from webapp.practice.thresholds import STANDARD
from webapp.settings import Settings, static_folder
from webapp.storage import clinic, packs, plans
from webapp.storage.database import Store

CORE_BYTES = 4_000_000
SCRIPTS_OF_A_PAGE_BYTES = 60_000
ALL_BUT_SOUND_FONT_DRAWINGS_BYTES = 200_000
PACK_AGAIN = """
import json, sys
from pathlib import Path
from tests.client.conftest import NOW_MS
from tests.client.invented_clinic import DAY_MS, add_plan, make_clinic
later = make_clinic(Path(sys.argv[1]), "https://clinic.example", NOW_MS + 365 * DAY_MS)
store = later.store()
issued = json.loads(Path(sys.argv[2]).read_text())
db = store.connect()
with store.write(db):
    db.executescript("DELETE FROM packs; DROP TRIGGER plans_stay; DELETE FROM plans;")
add_plan(store, db, later.settings, later.client_id, issued, NOW_MS + 365 * DAY_MS)
"""
NOT_COUNTED = (".wav", ".woff2", ".png", ".svg", ".txt")


def packed(settings: Settings) -> dict[str, PackFile]:
    """Reads the first client's pack back from its blobs."""
    db = Desk(settings=settings).db()
    pack = packs.newest_for_client(db, 1)
    assert pack
    files = {}
    for path, entry in json.loads(pack.manifest)["files"].items():
        blob = find_blob(settings.packs_dir, pack.manifest, path)
        assert blob
        files[path] = PackFile(content=blob.file.read_bytes(), type=entry["type"])
    return files


@pytest.fixture
def files(desk: Desk) -> dict[str, PackFile]:
    return packed(desk.settings)


def wire_bytes(file: PackFile) -> int:
    return min(len(file.content), len(gzip.compress(file.content, mtime=0)))


def modules_of(page: PackFile) -> list[str]:
    starts = re.findall(r'src="static/([^"]+\.m?js)"', page.content.decode())
    return [path for path in reachable(static_folder(), starts) if path.endswith((".js", ".mjs"))]


def test_the_same_plan_packed_again_is_the_same_pack(tmp_path: Path, root: Path, desk: Desk) -> None:
    """Byte for byte: a year later by the app's clock, by another process, in another time zone, clips spoken anew."""
    db = desk.db()
    plan = plans.read(db, 1)
    assert plan
    (tmp_path / "later").mkdir()
    (tmp_path / "issued.json").write_text(json.dumps(plan.issued))
    elsewhere = {**os.environ, "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7"}
    command = [sys.executable, "-c", PACK_AGAIN, str(tmp_path / "later"), str(tmp_path / "issued.json")]
    subprocess.run(command, cwd=root, env=elsewhere, check=True)
    again = packed(Settings(data_dir=tmp_path / "later"))
    assert again == packed(desk.settings)


def test_a_phone_asks_to_tell_from_the_pain_that_the_clinic_calls_severe(desk: Desk) -> None:
    """The next version that is packed says so; the one before is as it was."""
    db = desk.db()
    issued = plans.history(db, 1)[0].issued
    with Store(desk.settings.database_path).write(db):
        clinic.change_thresholds(db, replace(STANDARD, pain_severe_n=5))
    before = json.loads(packed(desk.settings)["data/plan.json"].content)["pain_after"]
    add_plan(Store(desk.settings.database_path), db, desk.settings, 1, dict(issued) | {"version": 2}, NOW_MS)
    after = json.loads(packed(desk.settings)["data/plan.json"].content)["pain_after"]
    assert (before["5"], after["4"], after["5"]) == ("fine", "fine", "tell")


def test_a_pack_is_small(files: dict[str, PackFile]) -> None:
    """At most 4 MB, and 200 kB on the wire without sounds, font and drawings."""
    assert sum(len(file.content) for file in files.values()) <= CORE_BYTES
    counted = [file for path, file in files.items() if not path.endswith(NOT_COUNTED)]
    assert sum(map(wire_bytes, counted)) <= ALL_BUT_SOUND_FONT_DRAWINGS_BYTES


def test_no_page_needs_more_script_than_60_kb(files: dict[str, PackFile]) -> None:
    """Compressed, with everything that its own modules import."""
    pages = {path: file for path, file in files.items() if file.type.startswith("text/html")}
    weights = {
        path: sum(wire_bytes(files[f"static/{name}"]) for name in modules_of(page)) for path, page in pages.items()
    }
    assert {path: weight for path, weight in weights.items() if weight > SCRIPTS_OF_A_PAGE_BYTES} == {}
    assert min(weights.values()) > 0


def test_every_link_of_a_page_stays_in_the_pack(files: dict[str, PackFile]) -> None:
    """Relative and there: it works under the phone's address and under the waiting plan's alike."""
    for path, page in files.items():
        if page.type.startswith("text/html"):
            for link in re.findall(r'\b(?:src|href|action)="([^"]*)"', page.content.decode()):
                parts = urlsplit(link)
                if parts.scheme in {"tel", "data"} or not parts.path:
                    continue
                assert not parts.scheme
                assert not parts.netloc
                assert posixpath.normpath(parts.path) in {*files, "open-again"}, f"{path}: {link}"


def test_nothing_in_a_pack_belongs_to_one_phone(files: dict[str, PackFile]) -> None:
    """No first name, no form token, no inline script, no style in an attribute."""
    for path, file in files.items():
        if file.type.startswith("text/html"):
            text = file.content.decode()
            assert ">Sol" not in text, path
            assert "csrf" not in text, path
            assert not re.search(r"<script(?![^>]*\bsrc=)", text), path
            assert not re.search(r"\bstyle=", text), path


def test_what_a_script_says_is_in_its_pack(files: dict[str, PackFile]) -> None:
    """Every text that a module asks for by its full key."""
    texts = json.loads(files["data/strings.json"].content)
    scripts = [file.content.decode() for path, file in files.items() if path.endswith(".js")]
    asked = {key for script in scripts for key in re.findall(r'\b(?:say|t)\("(phone\.[a-z0-9_.]+)"', script)}
    assert {key for key in asked if key not in texts and f"{key}.other" not in texts} == set()


def test_the_home_screen_manifest_is_neutral(files: dict[str, PackFile]) -> None:
    """Some browsers send it to their maker: no token, no name, no code; each phone has it at its own address."""
    manifest = json.loads(files["manifest.webmanifest"].content)
    assert manifest["start_url"] == "today"
    assert manifest["scope"] == "./"
    assert "id" not in manifest
    assert "SL-07" not in json.dumps(manifest)
    assert {icon["sizes"] for icon in manifest["icons"]} == {"192x192", "512x512"}
    assert all(icon["src"] in files for icon in manifest["icons"])
