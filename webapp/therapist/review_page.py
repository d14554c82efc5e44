"""What the review page says of one client, in words, ready for its template."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from webapp.client_log import ClientLog, Emptied, Gaps, last_heard
from webapp.formats.plan_json import read_settings
from webapp.practice.attention import pads_changed
from webapp.practice.session import Session
from webapp.practice.summary import StrengthLine, Summary
from webapp.practice.thresholds import Thresholds
from webapp.practice.weeks import Week
from webapp.stimulation.cycle import work_out_cycle
from webapp.stimulation.hill import hill_points
from webapp.stimulation.timetable import tally
from webapp.storage.answers import Answer
from webapp.storage.devices import Device
from webapp.storage.rests import RestEnded
from webapp.therapist.charts import Chart, scales_chart, strength_chart
from webapp.therapist.review_asks import Ask, asks
from webapp.therapist.review_compare import Comparison, compare
from webapp.therapist.review_panels import (
    DoseRow,
    Home,
    SkinPanel,
    dose_rows,
    home,
    period_words,
    skin_panel,
    thousands,
)
from webapp.therapist.review_period import Shown
from webapp.therapist.review_records import OtherRecord, other_records
from webapp.therapist.review_rests import Resting, RestOver, resting, rests_over
from webapp.therapist.words import (
    duration_words,
    moment_words,
    reason_words,
    share_words,
    strength_words,
)
from webapp.translations import Translate

WEEKS_SHOWN = 13  # a quarter of a year, on one laptop screen; the rest of the weeks stands in the table of all sessions
SAID_ELSEWHERE = frozenset({"note", "held"})  # each has a place of its own on the page
NOTES_SHOWN = 6
MINUTE_MS = 60_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ClinicFacts:
    """What a review needs besides the log; `records_n` counts what each phone brought home."""

    zone: ZoneInfo
    now_ms: int
    limits: Thresholds
    gaps: Gaps
    records_n: Mapping[str, int]
    rests_ended: Sequence[RestEnded]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number with its name and what stands under it."""

    label: str
    value: str
    under: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthPicture:
    """The strength chart of one exercise and unit; `table` is what stands behind it."""

    title: str
    shows: str
    chart: Chart
    lines: tuple[StrengthLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanExercise:
    """One exercise of the current plan, with its hills (per channel: [ms, per mille] points)."""

    title: str
    settings: str
    dose: str
    ceilings: tuple[str, ...]
    hills: tuple[tuple[tuple[int, int], ...], ...]
    cycle_ms: int
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Phone:
    """One phone or tablet of the client."""

    device: str
    kind: str
    since: str
    heard: str
    records_n: int
    revoked: bool
    gap: str  # the numbers that never came, between those that did; "" where there are none


@dataclass(frozen=True, slots=True, kw_only=True, weakref_slot=True)
class ReviewPage:
    """Everything on the page; its numbers are those of the days shown."""

    log: ClientLog
    summary: Summary
    shown: Shown
    period: str
    compared: Comparison
    plan_since: date | None
    dose: tuple[DoseRow, ...]
    home: Home
    skin: SkinPanel
    pads: tuple[date, ...]
    resting: tuple[Resting, ...]
    rests_over: tuple[RestOver, ...]
    asks: tuple[Ask, ...]
    notices: tuple[str, ...]
    figures: tuple[Figure, ...]
    strength: tuple[StrengthPicture, ...]
    scales: Chart | None
    notes: tuple[tuple[Session, str], ...]
    sessions: tuple[Session, ...]  # counted ones and those from paper, each marked by its road
    paper: str  # what came from paper, in one sentence; "" where nothing did
    plan: tuple[PlanExercise, ...]
    phones: tuple[Phone, ...]
    others: tuple[OtherRecord, ...]
    answers: tuple[Answer, ...]
    weeks: tuple[Week, ...]
    hidden_weeks_n: int


def review_page(t: Translate, log: ClientLog, shown: Shown, clinic: ClinicFacts) -> ReviewPage:
    """Puts the page together."""
    summary = log.summary_of(shown.days)
    every = tuple(sorted((*summary.sessions, *summary.paper, *summary.misdated), key=lambda s: s.entry.at_min))
    pads = pads_changed(log.log)
    return ReviewPage(
        log=log, summary=summary, shown=shown, period=period_words(t, (summary.first, summary.last)),
        compared=compare(t, log, shown), plan_since=min((v.starts for v in log.versions), default=None),
        dose=dose_rows(t, log, summary),
        home=home(t, log, summary, clinic.limits), skin=skin_panel(log, summary), pads=pads,
        resting=tuple(resting(t, log, rest) for rest in log.rests),
        rests_over=rests_over(t, log, clinic.rests_ended, clinic.now_ms, clinic.zone),
        asks=asks(t, log),
        notices=tuple(reason_words(t, r) for r in log.reasons if not r.needs_answer and r.rule not in SAID_ELSEWHERE),
        figures=_figures(t, summary), strength=_strength(summary, pads), scales=_scales(summary),
        notes=tuple((s, s.note) for s in reversed(every) if s.note)[:NOTES_SHOWN], sessions=every,
        paper=_paper(t, summary),
        plan=plan_exercises(t, log), phones=_phones(t, log, clinic), answers=_answers(log),
        others=other_records(log, summary.first, summary.last),
        weeks=summary.weeks[-WEEKS_SHOWN:], hidden_weeks_n=max(0, len(summary.weeks) - WEEKS_SHOWN))


def _figures(t: Translate, summary: Summary) -> tuple[Figure, ...]:
    c, (days, of_days) = summary.total, summary.days_used
    apart = [t(f"review.apart.{name}", n=n) for name, n in (
        ("excused", c.excused_n), ("unknown", c.unknown_n), ("paper", c.paper_n), ("extra", c.extra_n),
        ("cut", c.cut_n), ("attempts", c.attempts_n)) if n]
    return (
        Figure(label=t("review.sessions"), value=t("review.of", done=c.done_n, due=c.due_n),
               under=", ".join([share_words(t, c.sessions_share), *apart])),
        Figure(label=t("review.practice_time"), value=duration_words(t, c.cued_s),
               under=t("review.capped", due=duration_words(t, c.due_s), share=share_words(t, c.minutes_share),
                       uncapped=share_words(t, c.minutes_share_uncapped))),
        Figure(label=t("review.contractions"),
               value=thousands(c.contractions_n) if summary.sessions else t("review.none"),
               under=t("review.all_channels")),
        Figure(label=t("review.days"), value=t("review.of", done=days, due=of_days),
               under=share_words(t, days / of_days if of_days else None)))


def _strength(summary: Summary, pads: tuple[date, ...]) -> tuple[StrengthPicture, ...]:
    groups = sorted({(line.exercise, line.shows) for line in summary.strength})
    found = []
    for exercise, shows in groups:
        lines = tuple(x for x in summary.strength if (x.exercise, x.shows) == (exercise, shows))
        found.append(StrengthPicture(
            title=lines[0].title, shows=shows, lines=lines,
            chart=strength_chart(lines, summary.first, summary.last, summary.versions, pads,
                                 height=124 if len(groups) == 1 else 66)))
    return tuple(found)


def _scales(summary: Summary) -> Chart | None:
    series = (summary.pain_before, summary.pain_after, summary.effort)
    return scales_chart(series, summary.first, summary.last, summary.versions, height=76) if any(series) else None


def plan_exercises(t: Translate, log: ClientLog) -> tuple[PlanExercise, ...]:
    """Describes the exercises of the current plan."""
    return tuple(_plan_exercise(t, e) for e in log.plan.issued["exercises"]) if log.plan else ()


def _plan_exercise(t: Translate, issued: dict[str, object]) -> PlanExercise:
    settings = read_settings(issued["settings"])
    cycle = work_out_cycle(settings)
    contractions = (counted.completed for counted in tally(settings, cycle))
    channels: list[dict[str, object]] = issued["channels"]  # type: ignore[assignment]
    shows = "level" if "ceiling_level" in channels[0] else "ma"
    return PlanExercise(
        title=str(issued["title"]),
        settings=t("review.settings", frequency=f"{settings.frequency_hz:g}", width=f"{settings.pulse_width_us:g}"),
        dose=t("review.dose", minutes=f"{settings.session_min:g}", n=issued["times_a_day"],
               days=len(issued["days"]), contractions=" · ".join(map(str, contractions))),  # type: ignore[arg-type]
        ceilings=tuple(strength_words(t, float(str(c["ceiling_level" if shows == "level" else "ceiling_ma"])), shows)
                       for c in channels),
        hills=tuple(tuple((ms, round(1000 * level)) for ms, level in hill_points(settings, n))
                    for n in range(1, len(channels) + 1)),
        cycle_ms=cycle.cycle_ms, names=tuple(str(c["name"]) for c in channels))


def _phones(t: Translate, log: ClientLog, clinic: ClinicFacts) -> tuple[Phone, ...]:
    zone = clinic.zone
    return tuple(
        Phone(device=d.device, kind=d.kind, since=moment_words(t, d.made_ms, zone),
              heard=t("review.just_now") if clinic.now_ms - last_heard(d) < 2 * MINUTE_MS
              else moment_words(t, last_heard(d), zone),
              records_n=clinic.records_n.get(d.device, 0), revoked=d.revoked,
              gap=_gap(t, clinic.gaps, d, clinic.zone))
        for d in reversed(log.devices))


def _gap(t: Translate, gaps: Gaps, phone: Device, zone: ZoneInfo) -> str:
    """Says which records of a phone are missing; where its store went back to an older state or was gone, that too."""
    found, now = gaps.missing.get(phone.device, ()), gaps.emptied.get(phone.device)
    return " ".join([
        *([t("review.gap", n=sum(last - first + 1 for first, last in found), first=found[0][0])] if found else []),
        *([t("review.store_went_back")] if phone.device in gaps.went_back else []),
        *([_emptied(t, phone, now, zone)] if now else [])])


def _emptied(t: Translate, phone: Device, now: Emptied, zone: ZoneInfo) -> str:
    return t("review.emptied.sure" if now.is_sure else "review.emptied.maybe", device=now.now.device[:4],
             heard=moment_words(t, last_heard(phone), zone), since=moment_words(t, now.now.made_ms, zone))


def _paper(t: Translate, summary: Summary) -> str:
    found = summary.paper
    minutes = duration_words(t, sum(s.cued_s for s in found))
    return t("review.paper_line", n=len(found), minutes=minutes) if found else ""


def _answers(log: ClientLog) -> tuple[Answer, ...]:
    """Lists what was answered; what one answer covered together stands there once."""
    return tuple({(a.answered_ms, a.answered_by, a.note): a for a in reversed(log.answers)}.values())[::-1]
