"""`wattlebird code encode` and `code decode`: records to payloads and back; what is wrong is named in one line."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.bench.mixed_log import mixed_log
from tests.laws.any_records import DEVICE
from webapp.formats.log_record import canonical
from webapp.formats.return_code import CAPACITIES

KEY = "07" * 32
LOG = [canonical(record).decode() for record in mixed_log(80, 2)]
LONG = canonical({"format": "wattlebird.record/1", "device": DEVICE, "seq": 999, "kind": "weather", "at_min": 1,
                  "utc_q": 0, "sky": "x" * 9000}).decode()  # fmt: skip


def wattlebird(*arguments: str, given: str = "") -> subprocess.CompletedProcess[str]:
    """Runs the console command."""
    command = [sys.executable, "-m", "webapp.cli", "code", *arguments]
    return subprocess.run(command, input=given, capture_output=True, text=True, encoding="utf-8", check=False)


def encoded(tmp_path: Path, lines: list[str], *options: str) -> subprocess.CompletedProcess[str]:
    """Encodes lines of records."""
    file = tmp_path / "records.jsonl"
    file.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return wattlebird("encode", str(file), "--key", KEY, *options)


def test_records_come_back_as_they_were(tmp_path: Path) -> None:
    """One payload a line, each of at most one symbol of version 15; canonical JSON, one a line, comes back."""
    made = encoded(tmp_path, LOG)
    payloads = made.stdout.splitlines()
    assert (made.returncode, made.stderr) == (0, "")
    assert len(payloads) > 1
    assert all(len(payload) <= CAPACITIES[14] for payload in payloads)
    back = wattlebird("decode", "--key", KEY, given=made.stdout)
    assert (back.returncode, back.stderr, back.stdout.splitlines()) == (0, "", LOG)


def test_bad_payload_is_named_and_skipped(tmp_path: Path) -> None:
    """The others are read all the same; exit 1."""
    payloads = encoded(tmp_path, LOG).stdout.splitlines()
    changed = payloads[0][:-6] + ("0" if payloads[0][-6] != "0" else "1") + payloads[0][-5:]
    given = "\n".join([changed, payloads[0], "hello", "", payloads[1][:-30], *payloads[1:]]) + "\n"
    back = wattlebird("decode", "--key", KEY, given=given)
    assert (back.returncode, back.stdout.splitlines()) == (1, LOG)
    told = back.stderr.splitlines()
    assert [line.partition(":")[0] for line in told] == ["payload 1", "payload 3", "payload 5"]
    assert "changed" in told[0]
    assert "not a code" in told[1]
    assert "cut short" in told[2]


def test_other_key_opens_nothing(tmp_path: Path) -> None:
    """Exit 1, and no record on standard output."""
    back = wattlebird("decode", "--key", "08" * 32, given=encoded(tmp_path, LOG[:2]).stdout)
    assert (back.returncode, back.stdout) == (1, "")


def test_record_too_long_for_a_symbol_is_told_and_not_lost(tmp_path: Path) -> None:
    """It has a payload of its own, which comes back as well."""
    made = encoded(tmp_path, [*LOG[:3], LONG], "--max-version", "10")
    assert made.returncode == 0
    assert "Record 999 is too long for a symbol of version 10" in made.stderr
    assert wattlebird("decode", "--key", KEY, given=made.stdout).stdout.splitlines() == [*LOG[:3], LONG]


def test_bad_input_gives_one_line_and_exit_2(tmp_path: Path) -> None:
    """A wrong key, a missing file, a line that is no record, a record of another device."""
    other = LOG[1].replace(DEVICE, "00" * 8)
    results = [
        wattlebird("decode", "--key", "12"),
        wattlebird("encode", str(tmp_path / "none.jsonl"), "--key", KEY),
        encoded(tmp_path, [LOG[0], "{}"]),
        encoded(tmp_path, [LOG[0], LOG[1].replace(":", ": ", 1)]),
        encoded(tmp_path, [LOG[0], other]),
        encoded(tmp_path, ["\x00\x1b[31m"]),
    ]
    for result in results:
        assert (result.returncode, result.stdout) == (2, "")
        assert len(result.stderr.splitlines()) == 1
        assert "Traceback" not in result.stderr
    assert "line 2" in results[2].stderr


def test_empty_input_gives_nothing(tmp_path: Path) -> None:
    """No records, no payloads."""
    assert encoded(tmp_path, []).stdout == ""
    assert wattlebird("decode", "--key", KEY).stdout == ""
