"""The console commands about one plan file: timeline, dose, check. Bad input gives one clear line and exit code 2."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TextIO, TypeVar

from webapp.formats.json_text import MOST_BYTES, parse_json
from webapp.formats.plan_json import read_settings
from webapp.formats.reading import ReadingError
from webapp.formats.stimulator_json import read_stimulator
from webapp.guidance.sources import source
from webapp.prescribing.finding_words import finding_text
from webapp.stimulation.dose import compute_dose
from webapp.stimulation.finding import SEVERITIES, STOP, Finding
from webapp.stimulation.finding import shown as shown_value
from webapp.stimulation.limits import check
from webapp.stimulation.plan import Settings
from webapp.stimulation.problem import PlanError, Problem
from webapp.stimulation.ranges import GOALS
from webapp.stimulation.stimulator import Stimulator
from webapp.stimulation.timetable import Interval, build_timetable
from webapp.stimulation.units import plain_number, seconds_text
from webapp.translations import translator

BAD_INPUT = 2
FOUND_A_STOP = 1
_MOST_TOLD = 8
Read = TypeVar("Read")


class BadInputError(Exception):
    """A file that can't be used; its text is the one line that a person reads."""


def _one_line(text: str) -> str:
    return "".join(letter if letter.isprintable() else "\ufffd" for letter in text)


def _tell(file: str, problems: Iterable[Problem]) -> BadInputError:
    told = [str(problem) for problem in problems]
    more = f" (and {len(told) - _MOST_TOLD} more)" if len(told) > _MOST_TOLD else ""
    return BadInputError(_one_line(f"{file}: {' '.join(told[:_MOST_TOLD])}{more}"))


def _read_bytes(file: str) -> bytes:
    try:
        with Path(file).open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInputError(_one_line(f"{file}: Expected a file that can be read: {reason}.")) from error


def _read(file: str, reader: Callable[[object], Read]) -> Read:
    try:
        return reader(parse_json(_read_bytes(file)))
    except ReadingError as error:
        raise _tell(file, error.problems) from error


def _rows(intervals: Iterable[Interval]) -> Iterator[Interval]:
    return iter(sorted(intervals, key=lambda row: (row.start_ms, row.channel)))


def _write_csv(intervals: Iterable[Interval], out: TextIO) -> None:
    out.write("start_s,end_s,channel,phase,cycle\n")
    out.writelines(
        f"{seconds_text(row.start_ms)},{seconds_text(row.end_ms)},{row.channel},{row.phase},{row.cycle}\n"
        for row in _rows(intervals)
    )


def _seconds(ms: int) -> float:
    return plain_number(ms / 1000)


def _interval_fields(row: Interval) -> dict[str, object]:
    times = {"start_s": _seconds(row.start_ms), "end_s": _seconds(row.end_ms)}
    return {**times, "channel": row.channel, "phase": row.phase, "cycle": row.cycle}


def _write_json(value: object, out: TextIO) -> None:
    json.dump(value, out, ensure_ascii=False, indent=2, allow_nan=False)
    out.write("\n")


def timeline(args: argparse.Namespace, out: TextIO) -> int:
    """Writes the whole session, as CSV or JSON."""
    table = build_timetable(_read(args.plan, read_settings))
    if args.format == "csv":
        _write_csv(table.intervals, out)
        return 0
    figures: dict[str, object] = {
        "cycle_s": _seconds(table.cycle_ms),
        "on_s": _seconds(table.on_ms),
        "contractions": list(table.contractions),
        "on_time_s": [_seconds(ms) for ms in table.on_time_ms],
    }
    _write_json({**figures, "intervals": [_interval_fields(row) for row in _rows(table.intervals)]}, out)
    return 0


def dose(args: argparse.Namespace, out: TextIO) -> int:
    """Writes the dose of a session as JSON."""
    worked = compute_dose(_read(args.plan, read_settings))
    channels = [asdict(channel) for channel in worked.channels]
    _write_json({"channels": channels, "duty_percent": worked.duty_percent}, out)
    return 0


def _finding_fields(finding: Finding) -> dict[str, object]:
    return {
        "severity": finding.severity,
        "rule": finding.rule,
        "field": finding.field,
        "value": finding.value,
        "limit": finding.limit,
        "source": finding.source,
        "source_title": source(finding.source).title,
        "nearest": list(finding.nearest),
        "text": finding_text(finding, finding.field, translator("en")),
    }


def _write_listing(file: str, findings: tuple[Finding, ...], out: TextIO) -> None:
    t = translator("en")
    counts = {f"{name}s": sum(one.severity == name for one in findings) for name in SEVERITIES}
    out.write(t("check.heading", file=_one_line(file), **counts) if findings else t("check.none", file=_one_line(file)))
    out.write("\n")
    for one in findings:
        text = finding_text(one, one.field, t)
        out.write(t("check.line", severity=one.severity, rule=one.rule, field=one.field, text=text) + "\n")
        out.write(t("check.figures", **_figures(one)) + "\n")


def _figures(one: Finding) -> dict[str, str]:
    cited = source(one.source)
    nearest = " / ".join(shown_value(value) for value in one.nearest)
    return {
        "value": shown_value(one.value) or "–",
        "limit": shown_value(one.limit) or "–",
        "nearest": nearest or "–",
        "source": one.source,
        "title": cited.title,
        "how_confirmed": cited.how_confirmed,
    }


def _findings(args: argparse.Namespace) -> tuple[Finding, ...]:
    settings: Settings = _read(args.plan, read_settings)
    unit: Stimulator | None = _read(args.stimulator, read_stimulator) if args.stimulator else None
    return check(
        settings,
        unit,
        ceilings=args.ceiling,
        first_exercise=args.first_exercise,
        pads_apart_cm=args.pads_apart,
        goal=args.goal,
    )


def check_plan(args: argparse.Namespace, out: TextIO) -> int:
    """Writes what `check` finds; 1 where there is something to stop for.

    A bare plan file holds no ceilings: without `--ceiling` nothing is said of them.
    """
    findings = _findings(args)
    if args.format == "json":
        _write_json({"findings": [_finding_fields(one) for one in findings]}, out)
    else:
        _write_listing(args.plan, findings, out)
    return FOUND_A_STOP if any(one.severity == STOP for one in findings) else 0


def _guarded(command: Callable[[argparse.Namespace, TextIO], int]) -> Callable[[argparse.Namespace], int]:
    """Turns every fault of the input into one line and exit code 2."""

    def run(args: argparse.Namespace) -> int:
        try:
            code = command(args, sys.stdout)
            sys.stdout.flush()
            return code
        except BadInputError as error:
            line = str(error)
        except BrokenPipeError:  # whoever read along has seen enough
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return 0
        except PlanError as error:
            line = str(_tell(args.plan, error.problems))
        sys.stderr.write(f"{line}\n")
        return BAD_INPUT

    return run


def _number(text: str) -> float:
    value = float(text)
    if not 0 <= value <= 1000:
        raise argparse.ArgumentTypeError(f"expected a number from 0 to 1000, got {text!r}")
    return value


def add_commands(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Adds timeline, dose and check; each parsed result carries `run(args) -> exit code`."""
    one = subparsers.add_parser("timeline", help="the whole session of a plan, as CSV or JSON")
    one.add_argument("plan", metavar="PLAN.json")
    one.add_argument("--format", choices=("csv", "json"), default="csv")
    one.set_defaults(run=_guarded(timeline))
    one = subparsers.add_parser("dose", help="charge, current, density, power, pulses and times of a plan, as JSON")
    one.add_argument("plan", metavar="PLAN.json")
    one.set_defaults(run=_guarded(dose))
    one = subparsers.add_parser("check", help="what a plan is to be stopped, minded or noted for; exit 1 on a stop")
    one.add_argument("plan", metavar="PLAN.json")
    one.add_argument("--stimulator", metavar="UNIT.json", help="checks what this unit can be set to, too")
    one.add_argument("--ceiling", type=_number, action="append", help="a channel's ceiling (again for channel 2)")
    one.add_argument("--pads-apart", type=_number, action="append", metavar="CM", help="the gap of a channel's pads")
    one.add_argument("--first-exercise", action="store_true", help="the client's first one")
    one.add_argument("--goal", choices=GOALS, help="whose practice ranges apply")
    one.add_argument("--format", choices=("text", "json"), default="text")
    one.set_defaults(run=_guarded(check_plan))
