"""What the reading page tells a person to do with the phone, and when it calls a log read; run in Node.js."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

from webapp.formats.return_code import Part, make_header, make_payload

WIDTH, HEIGHT = 1280, 720


def runs(node: Path, root: Path, script: str) -> Any:
    """Runs a script over the page's own modules and gives what it returns."""
    whole = f"""
      import {{ aimOf, SteadyAim }} from "{(root / 'static/parts/aiming.js').as_uri()}";
      import {{ ReadPayloads, Showing }} from "{(root / 'static/parts/read_payloads.js').as_uri()}";
      const square = (x, y, side, modules) => ({{ modules, corners: [[0, 0], [1, 0], [1, 1], [0, 1]]
        .map(([a, b]) => ({{ x: x + a * side, y: y + b * side }})) }});
      const got = (() => {{ {script} }})();
      console.log(JSON.stringify(got));"""
    ran = subprocess.run([node, "--input-type=module", "-e", whole], check=True, capture_output=True, text=True)
    return json.loads(ran.stdout)


@pytest.mark.parametrize(("found", "brightest", "aim"), [
    ("null", 255, "show"), ("null", 20, "light"), ("square(500, 200, 100, 57)", 255, "closer"),
    ("square(500, 200, 100, 0)", 255, "closer"), ("square(400, 100, 400, 57)", 255, "still"),
    ("square(400, 100, 500, 0)", 255, "still"), ("square(300, -20, 700, 57)", 255, "further"),
    ("square(400, 100, 619, 57)", 255, "further")])
def test_each_sight_has_its_word(node: Path, root: Path, found: str, brightest: int, aim: str) -> None:
    """Nothing there, too dark, too small for its modules, cut by the edge, or only blurred."""
    assert runs(node, root, f"return aimOf({found}, false, {WIDTH}, {HEIGHT}, {brightest});") == aim


def test_a_word_stays_long_enough_to_be_read(node: Path, root: Path) -> None:
    """It does not flicker; that a code was read is said at once."""
    said = runs(node, root, """const steady = new SteadyAim();
      return [['closer', 0], ['still', 100], ['show', 400], ['still', 800], ['read', 850], ['show', 900]]
        .map(([aim, ms]) => steady.hear(aim, ms));""")
    assert said == ["closer", "closer", "closer", "still", "read", "read"]


def code(at: int, of: int, showing: int = 7, device: str = "5a17e0c4b2963f81") -> str:
    """Writes a code as far as its head; nobody looks at its seal here."""
    part = Part(showing=showing, at=at, of=of) if of > 1 else None
    return make_payload(make_header(device, 20, part), bytes(12), bytes(36))


def test_a_showing_is_read_when_each_of_its_codes_was_seen(node: Path, root: Path) -> None:
    """In any order, repeats among them; before that the page knows which are missing."""
    codes = [code(3, 3), code(1, 3), code(3, 3), code(2, 3)]
    seen = runs(node, root, f"""const showing = new Showing();
      return {json.dumps(codes)}.map((one) => {{ showing.see(one); return [showing.isWhole, showing.missing]; }});""")
    assert seen == [[False, [1, 2]], [False, [2]], [False, [2]], [True, []]]
    assert runs(node, root, f"return new Showing([{json.dumps(code(1, 1))}]).isWhole;") is True
    assert runs(node, root, "return [new Showing().isWhole, new Showing(['WB:', 'WB:0']).of];") == [False, 0]


@pytest.mark.parametrize("other", [code(2, 3, showing=8), code(2, 3, device="00" * 8), code(2, 4)],
                         ids=["made anew", "another phone", "smaller codes"])
def test_another_showing_is_counted_by_itself(node: Path, root: Path, other: str) -> None:
    """Codes of two showings never add up to one."""
    codes = [code(1, 3), code(3, 3), other]
    missing, is_whole = runs(node, root, f"""const showing = new Showing({json.dumps(codes)});
      return [showing.missing, showing.isWhole];""")
    assert 2 not in missing
    assert {1, 3} <= set(missing)
    assert not is_whole


def test_what_is_missing_is_known_after_a_reload(node: Path, root: Path) -> None:
    """From what the tab has kept; forgotten with it."""
    kept = json.dumps(json.dumps([[code(1, 3), "code"], [code(3, 3), "code"]]))
    missing = runs(node, root, f"""const read = new ReadPayloads({{ getItem: () => {kept}, setItem: () => {{}} }});
      const before = read.showing.missing;
      read.forget();
      return [before, read.showing.missing, read.showing.of];""")
    assert missing == [[2], [], 0]


def test_a_full_or_broken_store_of_the_tab_loses_nothing(node: Path, root: Path) -> None:
    """What the tab cannot keep is still in the page; what cannot be read is as if nothing was kept."""
    kept = runs(node, root, """const full = { getItem: () => '{broken', setItem: () => { throw new Error('full'); } };
      const read = new ReadPayloads(full);
      read.add(['WB:A', 'WB:B'], 'file');
      const first = [read.size, read.road];
      read.add(['WB:B', 'WB:C'], 'code');
      read.forget(['WB:A']);
      return [...first, read.payloads, read.road, read.add(['WB:C'], 'code')];""")
    assert kept == [2, "file", ["WB:B", "WB:C"], "code", False]
