"""The console commands about a plan file: what they print, how they end, and what they say of bad input."""

from __future__ import annotations

import argparse
import csv
import json
from pathlib import Path
from typing import Any

import pytest

from webapp.cli_plan import add_commands

GOLDEN = Path(__file__).resolve().parent.parent / "golden"
PLAN: dict[str, Any] = json.loads((GOLDEN / "plan.json").read_text())
Captured = pytest.CaptureFixture[str]


def run(*words: str | Path) -> int:
    """Runs a command and gives its exit code."""
    parser = argparse.ArgumentParser(prog="wattlebird")
    add_commands(parser.add_subparsers(required=True))
    args = parser.parse_args([str(word) for word in words])
    return int(args.run(args))


def told(capsys: Captured, *words: str | Path) -> tuple[int, str]:
    """Runs a command that succeeds in saying something on standard output alone."""
    code = run(*words)
    out, err = capsys.readouterr()
    assert err == ""
    return code, out


def refused(capsys: Captured, *words: str | Path) -> str:
    """Runs a command on bad input; gives the one line on standard error."""
    assert run(*words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    return err


@pytest.fixture
def plan_file(tmp_path: Path) -> Any:
    """Writes a plan with something different."""

    def write(**different: Any) -> Path:
        file = tmp_path / "plan.json"
        fields = {**PLAN, **different}
        file.write_text(json.dumps({name: value for name, value in fields.items() if value is not None}))
        return file

    return write


@pytest.mark.parametrize(
    ("golden", "words"),
    [
        ("timeline.csv", ["timeline", "plan.json"]),
        ("timeline.json", ["timeline", "plan.json", "--format", "json"]),
        ("dose.json", ["dose", "plan.json"]),
    ],
)
def test_output_is_that_of_the_golden_file(
    golden: str, words: list[str], capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Byte for byte, exit code 0."""
    monkeypatch.chdir(GOLDEN)
    assert told(capsys, *words) == (0, (GOLDEN / golden).read_text(encoding="utf-8"))


@pytest.mark.parametrize(("golden", "form"), [("check.txt", "text"), ("check.json", "json")])
def test_findings_are_those_of_the_golden_file(
    golden: str, form: str, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stops, a caution, their sources; exit code 1."""
    monkeypatch.chdir(GOLDEN)
    words = ["check", "plan.json", "--stimulator", "unit.json", "--ceiling", "24", "--ceiling", "28", "--format", form]
    assert told(capsys, *words) == (1, (GOLDEN / golden).read_text(encoding="utf-8"))


def test_timeline_covers_the_session_of_each_channel(capsys: Captured, plan_file: Any) -> None:
    """Read back as CSV: from 0 to 20 minutes, no gap, no overlap."""
    _, out = told(capsys, "timeline", plan_file(session_min=20, hold_s=4.1))
    rows = list(csv.DictReader(out.splitlines()))
    for channel in ("1", "2"):
        mine = [row for row in rows if row["channel"] == channel]
        assert (mine[0]["start_s"], mine[-1]["end_s"]) == ("0", "1200")
        assert [row["end_s"] for row in mine[:-1]] == [row["start_s"] for row in mine[1:]]


def test_check_ends_well_without_a_stop(capsys: Captured, plan_file: Any) -> None:
    """A caution does not fail it; ceilings are not known in a bare plan."""
    code, out = told(capsys, "check", plan_file())
    assert (code, "short_ramp_up" in out, "ceiling" in out) == (0, True, False)
    code, out = told(capsys, "check", plan_file(ramp_up_s=0.5), "--format", "json")
    assert (code, json.loads(out)) == (0, {"findings": []})


def test_impossible_timing_is_a_finding_for_check_and_bad_input_for_the_others(
    capsys: Captured, plan_file: Any
) -> None:
    """There is no timeline of what can't be."""
    file = plan_file(ramps="inside", hold_s=1.6)
    code, out = told(capsys, "check", file, "--format", "json")
    assert (code, [one["rule"] for one in json.loads(out)["findings"]]) == (1, ["timing_flat_top", "short_ramp_up"])
    for command in ("timeline", "dose"):
        line = refused(capsys, command, file)
        assert line == f"{file}: Expected a hold above 1.6 s in `hold_s` (the ramps take 1.6 s of it), got 1.6.\n"


@pytest.mark.parametrize("command", ["timeline", "dose", "check"])
@pytest.mark.parametrize(
    ("different", "said"),
    [
        ({"mood": 1}, "the unknown field `mood` (1)"),
        ({"frequency_hz": -35}, "Expected a number from 1 to 250 in `frequency_hz`, got -35."),
        ({"frequency_hz": True}, "Expected a number from 1 to 250 in `frequency_hz`, got true."),
        ({"frequency_hz": float("nan")}, "in `frequency_hz`, got NaN."),
        ({"session_min": 10**500}, "Expected a number from 1 to 90 in `session_min`, got a very large number."),
        (
            {"channels": [{"intensity_ma": 24, "pad_cm2": "25 cm"}]},
            'from 0.5 to 200 in `channels[0].pad_cm2`, got "25 cm".',
        ),
        ({"hold_s": None}, "Expected a number from 0.5 to 120 in steps of 0.1 in `hold_s`, got nothing."),
        ({"rest_s": 3.14}, "Expected a number from 0 to 300 in steps of 0.1 in `rest_s`, got 3.14."),
        ({"drive": "x\ny" * 100}, 'Expected one of cycled, switched, steady in `drive`, got "x\\ny'),
    ],
)
def test_bad_field_is_named_with_its_value_and_what_is_allowed(
    command: str, different: dict[str, Any], said: str, capsys: Captured, plan_file: Any
) -> None:
    """One line on standard error, exit code 2."""
    file = plan_file(**different)
    line = refused(capsys, command, file)
    assert line.startswith(f"{file}: ")
    assert said in line
    assert len(line) < 1000 + len(str(file))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "line 1, column 1"),
        (b"hold: 4", "Expected JSON"),
        (b"[]", "Expected an object in `the file`, got a list of 0."),
        (b'{"drive": "cycled", "drive": "steady"}', 'got "drive" twice'),
        (b"[" * 200_000, "at most 40 levels"),
        (b"[" * 50 + b"]" * 50, "at most 40 levels"),
        (b'{"drive": "\xff"}', "Expected text in UTF-8"),
        (b'{"drive": 1' + b"0" * 6000 + b"}", "a very large number"),
        (b"\x00\x01\x02", "Expected JSON"),
        (b'"' + b"x" * 1_000_001 + b'"', "at most 1000000 bytes"),
    ],
    ids=["empty", "no JSON", "a list", "a field twice", "unclosed", "deep", "no UTF-8", "huge", "binary", "large"],
)
def test_file_that_is_no_plan_gets_one_clear_line(content: bytes, said: str, capsys: Captured, tmp_path: Path) -> None:
    """Never a traceback."""
    file = tmp_path / "plan.json"
    file.write_bytes(content)
    assert said in refused(capsys, "timeline", file)


def test_file_of_100_megabytes_is_refused_by_its_first_one(capsys: Captured, tmp_path: Path) -> None:
    """It is not read to its end: a file of a petabyte that is all hole would do the same."""
    file = tmp_path / "plan.json"
    with file.open("wb") as stream:
        stream.truncate(100_000_000)
    assert "at most 1000000 bytes" in refused(capsys, "dose", file)


@pytest.mark.parametrize("name", ["missing.json", ".", "a\0b", "two\nlines.json"])
def test_file_that_can_not_be_read_is_named(name: str, capsys: Captured, tmp_path: Path) -> None:
    """Missing, a folder, a name that is none."""
    assert "Expected a file that can be read" in refused(capsys, "check", f"{tmp_path}/{name}")


def test_bad_stimulator_file_is_named(capsys: Captured, plan_file: Any, tmp_path: Path) -> None:
    """It is the stimulator's name that stands in the line."""
    unit = tmp_path / "unit.json"
    unit.write_text("{}")
    assert refused(capsys, "check", plan_file(), "--stimulator", unit).startswith(f"{unit}: Expected")
