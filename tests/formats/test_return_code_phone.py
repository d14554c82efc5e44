"""The return code on the phone's side, run by Node.js: the same bytes as the clinic's coder, in a seal that opens."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.bench.mixed_log import mixed_log
from tests.bench.synthetic_log import session_log
from tests.laws.any_records import any_log
from tests.vectors.laying_over import load
from webapp.formats import base45
from webapp.formats.log_record import canonical
from webapp.formats.return_code import CAPACITIES, most_body_bytes, version_for
from webapp.returned_code import decode_frame, encode_frames, return_table

VECTORS = load("return_code")
DEVICE: str = VECTORS["device"]
KEY = bytes.fromhex(VECTORS["device_key"])
# 200 logs: sessions alone, every kind, and whatever a record may hold
LOGS = [
    *(session_log(4 + seed % 20, seed)[0] for seed in range(60)),
    *(mixed_log(4 + seed % 12, seed) for seed in range(60)),
    *(any_log(seed, 6) for seed in range(80)),
]


def run(node: Path, root: Path, work: str, given: Any) -> Any:
    """Runs a script on the phone's modules; `given` is what it was given, its `told` comes back."""
    module, table = root / "static/formats/return_code.js", root / "static/formats/return_table.json"
    head = root / "static/formats/return_frame.js"
    script = f"""import * as code from {json.dumps(module.as_uri())};
        import {{ headOf }} from {json.dumps(head.as_uri())};
        import {{ readFileSync }} from "node:fs";
        const table = new code.ReturnTable(JSON.parse(readFileSync({json.dumps(str(table))}, "utf8")));
        const given = JSON.parse(readFileSync(0, "utf8"));
        const hex = (bytes) => Buffer.from(bytes).toString("hex");
        const root = await crypto.subtle.importKey(
          "raw", Buffer.from({json.dumps(KEY.hex())}, "hex"), "HKDF", false, ["deriveKey"]);
        const key = await code.codeKey(root);
        let told; {work} console.log(JSON.stringify(told));"""
    command = [str(node), "--input-type=module", "--eval", script]
    done = subprocess.run(command, input=json.dumps(given).encode(), capture_output=True, check=True)
    return json.loads(done.stdout)


BODIES = "told = given.map((log) => { const { body, taken } = table.encodeBody(log); return [hex(body), taken]; });"


def test_phone_meets_the_vectors(node: Path, root: Path) -> None:
    """Records to body, byte for byte."""
    told = run(node, root, BODIES, [log["records"] for log in VECTORS["logs"]])
    assert told == [[log["body"], len(log["records"])] for log in VECTORS["logs"]]


def test_phone_codes_two_hundred_logs_as_the_clinic_does(node: Path, root: Path) -> None:
    """Every kind, utmost numbers, unknown fields and odd texts among them."""
    assert len(LOGS) == 200
    told = run(node, root, BODIES, LOGS)
    for log, one in zip(LOGS, told, strict=True):
        body, taken = return_table().encode_body(log)
        assert one == [body.hex(), taken]


@pytest.mark.parametrize("max_version", [10, 15])
def test_clinic_opens_what_the_phone_seals(node: Path, root: Path, max_version: int) -> None:
    """The phone's key never leaves it; frames are cut at the same records on both sides."""
    log = mixed_log(60, 3)
    work = f"""for (const device of [{json.dumps(DEVICE)}])
        told = await code.encodeFrames({{ table, records: given, device, key, maxVersion: {max_version} }});
        const raw = await crypto.subtle.exportKey("raw", key).then(() => "read out", () => "kept");
        told = {{ frames: told, heads: told.map((one) => headOf(one.payload)), raw }};"""
    told = run(node, root, work, log)
    ours = encode_frames(log, KEY, DEVICE, max_version=max_version)
    frames = told["frames"]
    assert told["raw"] == "kept"
    assert len({head["showing"] for head in told["heads"]}) == 1
    assert [(head["device"], head["at"], head["of"]) for head in told["heads"]] == [
        (DEVICE, at, len(frames)) for at in range(1, len(frames) + 1)]
    assert [frame["part"] for frame in frames] == [{"at": one["at"], "of": one["of"]} for one in told["heads"]]
    assert [frame["seqs"] for frame in frames] == [list(frame.seqs) for frame in ours]
    assert [frame["version"] for frame in frames] == [version_for(frame["payload"]) for frame in frames]
    opened = [decode_frame(frame["payload"], {DEVICE: KEY}.get) for frame in frames]
    assert [one for frame in opened for one in frame.contents] == [canonical(record) for record in log]
    assert [one.part and (one.part.at, one.part.of) for one in opened] == [
        (at, len(frames)) for at in range(1, len(frames) + 1)]


def test_a_head_is_read_before_any_seal(node: Path, root: Path) -> None:
    """Alone, one of many, and what is none: cut, of a later format, impossible, no code."""
    payloads = [VECTORS["logs"][0]["payload"], *(one["payload"] for one in VECTORS["parts"])]
    wrong = [payloads[1][:18], "WB:" + base45.encode(b"\x30" + bytes(60)), "WB:" + base45.encode(b"\x20" + bytes(60)),
             "https://example.org/", ""]
    told = run(node, root, "told = given.map(headOf);", [*payloads, *wrong])
    assert told[0] == {"device": DEVICE, "showing": 0, "at": 1, "of": 1}
    assert told[1:3] == [{"device": DEVICE, **{k: one[k] for k in ("showing", "at", "of")}} for one in VECTORS["parts"]]
    assert told[3:] == [None] * len(wrong)


def test_phone_knows_the_same_symbols(node: Path, root: Path) -> None:
    """Capacities, and the longest body of each version."""
    work = "told = [code.CAPACITIES, given.map((version) => code.mostBodyBytes(version))];"
    versions = list(range(1, len(CAPACITIES) + 1))
    assert run(node, root, work, versions) == [list(CAPACITIES), [most_body_bytes(version) for version in versions]]


def test_phone_refuses_records_of_another_device(node: Path, root: Path) -> None:
    """Nothing of one phone is sealed with another's key."""
    work = """const records = [{ ...given, device: "0000000000000000" }];
        told = await code.encodeFrames({ table, records, device: given.device, key }).then(() => "", (e) => e.name);"""
    assert run(node, root, work, VECTORS["logs"][0]["records"][0]) == "RangeError"
