"""Everything that is wrong with a draft, and everything that the check finds, each with the field it is about."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as made_by

from webapp.formats.issued_json import read_issued
from webapp.formats.plan_json import read_settings
from webapp.formats.reading import ReadingError
from webapp.formats.stimulator_json import read_stimulator
from webapp.prescribing.build_up import step_findings
from webapp.prescribing.drafting import PADS, Known, Raw, Typed, read_draft, text
from webapp.prescribing.first_day import first_day_findings
from webapp.prescribing.first_trial import form_field, missing, trial_findings
from webapp.prescribing.placing import placement_findings
from webapp.prescribing.standing_in import as_far_as_read
from webapp.prescribing.tested import tested_findings
from webapp.prescribing.undecided import undecided_places
from webapp.stimulation.finding import SEVERITIES, STOP, Finding
from webapp.stimulation.limits import ELECTRICAL_RULES, ceiling_findings, check
from webapp.stimulation.placement import movement
from webapp.stimulation.plan import Settings
from webapp.stimulation.problem import Problem
from webapp.stimulation.stimulator import Stimulator


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One thing in a draft that can't be issued: the form's field and the key of its text (`problem.<key>`)."""

    field: str
    key: str
    params: Mapping[str, object] = made_by(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One finding of the check, with the form's field it is about."""

    field: str
    finding: Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedExercise:
    """One exercise as it stands: its settings where they can be read, else what is wrong; and the findings."""

    n: int
    raw: Raw
    settings: Settings | None
    troubles: tuple[Trouble, ...]
    findings: tuple[Found, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedDraft:
    """A whole draft: the issued plan it would make, all that is wrong, all that was found."""

    issued: Raw
    troubles: tuple[Trouble, ...]
    exercises: tuple[CheckedExercise, ...]

    @property
    def stops(self) -> int:
        """Counts the fields that must be mended before it can be issued, however much is said of one."""
        wrong = {f.field for e in self.exercises for f in e.findings if f.finding.severity == STOP}
        return len(wrong | {trouble.field for trouble in self.troubles})


_SPOKEN = {"say_as": "as", "recorded": "own"}
_PLAIN = {"pad_cm2": "pad_a.width_cm", "intensity_ma": "intensity", "intensity_level": "intensity",
          "ceiling_ma": "ceiling", "ceiling_level": "ceiling", "pads": "apart_cm",
          "pads_apart_cm": "apart_cm"}  # fmt: skip


def field_of(path: str) -> str:
    """Turns a path of the issued plan (`exercises[0].settings.channels[1].pad_cm2`) into the form's field."""
    found = re.match(r"exercises\[(\d+)\]\.?(.*)", path)
    if found is None:
        return re.sub(r"^asks\.", "ask_", path) or "first_day"
    ex, rest = f"ex{int(found.group(1)) + 1}", found.group(2)
    if dosed := re.fullmatch(r"settings\.channels\[(\d)\]", rest):
        return f"{ex}.ch{int(dosed.group(1)) + 1}.intensity"
    return f"{ex}.{_in_exercise(rest.removeprefix('settings.'))}"


def _in_exercise(rest: str) -> str:
    if found := re.match(r"(channels|wording)\[(\d)\]\.?(.*)", rest):
        ch, inner = f"ch{int(found.group(2)) + 1}", found.group(3)
        if found.group(1) == "wording":
            other, _, phase = inner.partition(".")
            return f"{ch}.{_SPOKEN[other]}_{phase}" if other in _SPOKEN else f"{ch}.say_{inner or 'rise'}"
        if pad := re.match(r"pads\[(\d)\]\.?(.*)", inner):
            return f"{ch}.{PADS[min(int(pad.group(1)), 1)]}.{pad.group(2) or 'place'}"
        return f"{ch}.{_PLAIN.get(inner, inner or 'ceiling')}"
    if found := re.match(r"(set_up_steps|minutes_by_date)\[(\d+)\]\.?(.*)", rest):
        row = {"set_up_steps": "step", "minutes_by_date": "build"}[found.group(1)]
        return f"{row}{int(found.group(2)) + 1}.{found.group(3) or ('text' if row == 'step' else 'from')}"
    first = rest.split(".")[0].split("[")[0]
    return _WHOLE.get(first, first or "title")


_WHOLE = {
    "times_a_day": "slots",
    "channels": "two",
    "set_up_steps": "steps",
    "minutes_by_date": "builds",
    "wording": "two",
}
_BLANK_KEYS = ("number", "tenths", "whole_number", "text", "choice", "date", "exactly_one", "list", "object")


def _trouble(draft: Typed, problem: Problem, prefix: str = "") -> Trouble:
    name = field_of(prefix + problem.path)
    if not text(draft, name) and problem.key in _BLANK_KEYS:
        return Trouble(field=name, key="missing")
    return Trouble(field=name, key=problem.key, params=problem.params)


def _once(troubles: Iterator[Trouble]) -> tuple[Trouble, ...]:
    first: dict[str, Trouble] = {}
    for trouble in troubles:
        first.setdefault(trouble.field, trouble)
    return tuple(first.values())


def check_exercise(draft: Typed, raw: Raw, *, first_plan: bool, first_day: str = "") -> CheckedExercise:
    """Checks one exercise (read by `drafting.read_exercise`) with all that the core knows of, and its first trial."""
    found = _check_settings(draft, raw, first_plan=first_plan)
    name, said = f"ex{raw['exercise']}", trial_findings(raw, first_day=first_day, first_plan=first_plan)
    tried = (Found(field=f"{name}.{form_field(one)}", finding=one) for one in said)
    return replace(found, troubles=(*found.troubles, *_left_open(raw)), findings=_ordered((*found.findings, *tried)))


def _ordered(findings: Sequence[Found]) -> tuple[Found, ...]:
    """Puts stops first, then cautions, then notes; of two that ask the same of a field the first is enough."""
    first: dict[object, Found] = {}
    for n, one in enumerate(findings):
        finding = one.finding
        asks = (one.field, finding.severity, finding.nearest) if finding.nearest else n
        first.setdefault(asks, one)
    return tuple(sorted(first.values(), key=lambda one: SEVERITIES.index(one.finding.severity)))


def _left_open(raw: Raw) -> Iterator[Trouble]:
    """Names what was not found out about muscle, feeling and skin, and pad places that leave a choice to the client."""
    name = f"ex{raw['exercise']}"
    yield from (Trouble(field=f"{name}.{one}", key="missing") for one in missing(raw))
    for one, place in undecided_places(raw):
        yield Trouble(field=f"{name}.{one}", key="undecided", params={"value": place})


def _check_settings(draft: Typed, raw: Raw, *, first_plan: bool) -> CheckedExercise:
    n = raw["exercise"]
    try:
        settings = read_settings(raw["settings"])
    except ReadingError as error:
        prefix = f"exercises[{n - 1}].settings."
        troubles = _once(_trouble(draft, problem, prefix) for problem in error.problems)
        early = as_far_as_read(raw, [problem.path for problem in error.problems])
        findings = tuple(one for one in _found(raw, early.settings, first_plan=first_plan)
                         if early.can_say(one.finding)) if early else ()
        return CheckedExercise(n=n, raw=raw, settings=None, troubles=troubles, findings=findings)
    findings = tuple(_found(raw, settings, first_plan=first_plan))
    return CheckedExercise(n=n, raw=raw, settings=settings, troubles=(), findings=findings)


def with_any_strength(raw: Raw) -> Raw:
    """Gives an exercise's settings with stand-ins for strength and pad."""
    measure = {"intensity_level": 0} if raw["stimulator"].get("shows") == "level" else {"intensity_ma": 1}
    stand_in = [measure | {"pad_cm2": 25} for _ in raw["settings"]["channels"]]
    settings: Raw = raw["settings"] | {"channels": stand_in}
    return settings


def _found(raw: Raw, settings: Settings, *, first_plan: bool) -> Iterator[Found]:
    n, chosen = raw["exercise"], movement(raw["movement"])
    goal = chosen.goal if chosen and settings.drive != "steady" else None
    reached = list(ceiling_findings(settings, ceilings_of(raw)))
    said = {(one.rule, one.params["channel"]) for one in reached}
    for one in check(settings, _stimulator(raw), ceilings_of(raw), first_plan and n == 1, _gaps(raw), goal):
        if one.rule not in ELECTRICAL_RULES or (one.rule, one.params["channel"]) not in said:
            yield Found(field=_finding_field(n, one), finding=one)
    for one in reached:
        yield Found(field=_finding_field(n, one), finding=one)
    for k, one in step_findings(raw, settings, _stimulator(raw)):
        yield Found(field=f"ex{n}.build{k}.session_min", finding=one)
    for number, one in placement_findings(raw["channels"]):
        yield Found(field=f"ex{n}.ch{number}.view", finding=one)


def _finding_field(n: int, finding: Finding) -> str:
    name = field_of(f"exercises[{n - 1}].settings.{finding.field}")
    return name.replace(".intensity", ".ceiling") if finding.rule == "no_ceiling" else name


def _stimulator(raw: Raw) -> Stimulator | None:
    return read_stimulator(raw["stimulator"]) if raw["stimulator"] else None


def ceilings_of(raw: Raw) -> list[float | None]:
    """Gives each channel's ceiling as far as it can be read."""
    typed = [channel.get("ceiling_ma", channel.get("ceiling_level")) for channel in raw["channels"]]
    return [None if isinstance(value, str) else value for value in typed]


def _gaps(raw: Raw) -> Sequence[float | None]:
    typed = [channel.get("pads_apart_cm") for channel in raw["channels"]]
    return [None if isinstance(value, str) else value for value in typed]


def check_draft(draft: Typed, known: Known) -> CheckedDraft:
    """Reads and checks a whole draft; every problem and finding at once."""
    issued = read_draft(draft, known)
    exercises = tuple(check_exercise(draft, raw, first_plan=known.version == 1, first_day=issued["first_day"])
                      for raw in issued["exercises"])
    exercises = tuple(_with_tested(one, draft, known) for one in exercises)
    exercises = _with_first_day(exercises, issued["first_day"], known.today)
    troubles: Sequence[Problem] = ()
    try:
        read_issued(issued)
    except ReadingError as error:
        troubles = error.problems
    told = _once(_trouble(draft, problem) for problem in troubles)
    said = {found.field for e in exercises for found in e.findings if found.finding.rule == "no_ceiling"}
    said |= {t.field for t in told if t.key == "level_or_ma" and not text(draft, _strength_beside(t.field))}
    kept = tuple(t for t in told if t.field not in said and not t.field.startswith(OF_CLINIC))
    left_open = (trouble for raw in issued["exercises"] for trouble in _left_open(raw))
    return CheckedDraft(issued=issued, troubles=(*_clinic_troubles(known), *kept, *left_open), exercises=exercises)


def _with_first_day(exercises: tuple[CheckedExercise, ...], first_day: str, today: str) -> tuple[CheckedExercise, ...]:
    """Puts what is found about the first day before what is found about the first exercise, where there is one."""
    found = tuple(Found(field="first_day", finding=one) for one in first_day_findings(first_day, today))
    if not exercises or not found:
        return exercises
    first = exercises[0]
    return (replace(first, findings=_ordered((*found, *first.findings))), *exercises[1:])


def _with_tested(one: CheckedExercise, draft: Typed, known: Known) -> CheckedExercise:
    """Adds what is found about a first trial that was taken over from the version before."""
    name = f"ex{one.n}.tested"
    found = tuple(Found(field=name, finding=each) for each in tested_findings(
        one.raw, known.tested.get(one.n), text(draft, name), today=known.today, days=known.tested_days))
    return replace(one, findings=_ordered((*found, *one.findings))) if found else one


def _strength_beside(ceiling: str) -> str:
    """Names the strength of a ceiling's channel: while it is blank, the ceiling has no measure to differ from."""
    return f"{ceiling.rpartition('.')[0]}.intensity"


OF_CLINIC = ("clinic", "call", "emergency")


def _clinic_troubles(known: Known) -> Iterator[Trouble]:
    """Names what the clinic has not told yet and a client's sheet must say."""
    told = (known.clinic_name, known.call.get("who"), known.call.get("phone"), known.call.get("skin"), known.emergency)
    if not all(told):
        yield Trouble(field="clinic", key="clinic_not_described")
