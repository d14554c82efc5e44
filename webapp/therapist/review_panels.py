"""Panels of the review in words: the dose by muscle, how it is done at home, the skin."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from webapp.client_log import ClientLog
from webapp.formats.plan_json import read_settings
from webapp.planned_dose import planned_dose
from webapp.practice.dose_by_log import MuscleDose, dose_by_muscle
from webapp.practice.habits import SetUpStep, hours_of_day, set_up, unit_clock
from webapp.practice.session import Session
from webapp.practice.skin_map import SkinSeen, skin_seen
from webapp.practice.summary import Summary, title_of
from webapp.practice.thresholds import Thresholds
from webapp.stimulation.cycle import work_out_cycle
from webapp.therapist.small_charts import HoursChart, SkinChart, day_of, hours_chart, skin_chart
from webapp.therapist.words import day_words, mean_words, share_words
from webapp.translations import Translate

STEPS_SHOWN = 3
MINUTES_FROM_S = 100
PPM = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseRow:
    """One muscle's dose by the log against the plan, each figure as it stands on the page."""

    muscle: str
    contractions: str
    contractions_share: str
    flat: str
    flat_share: str
    strength: str
    product: str
    product_share: str
    seconds: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """One step of setting up that was left out or took longest, with its exercise where there are several."""

    text: str
    skipped: str
    longest: str
    slow: str
    is_slow: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpPanel:
    """Where set-up goes wrong: how long it takes ("" where no session says), the worst steps, the other ones."""

    takes: str
    rows: tuple[StepRow, ...]
    more: tuple[StepRow, ...]
    slow_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """How it is done at home. `clock` is the unit's true period in words; "" where no session knows it."""

    set_up: SetUpPanel
    hours: HoursChart | None
    hours_n: tuple[tuple[int, int], ...]
    clock: str
    clock_off: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinPanel:
    """The skin over time: a chart where anything was seen, and each answer behind it, the newest first."""

    chart: SkinChart | None
    seen: tuple[SkinSeen, ...]


def dose_rows(t: Translate, log: ClientLog, summary: Summary) -> tuple[DoseRow, ...]:
    """Says what each muscle did by the log, and what of the plan that is."""
    doses = dose_by_muscle(summary.sessions, summary.days, log.versions, planned_dose(log.plans))
    return tuple(_dose_row(t, dose) for dose in doses)


def _dose_row(t: Translate, dose: MuscleDose) -> DoseRow:
    count = dose.contractions / dose.due_contractions if dose.due_contractions else None
    return DoseRow(
        muscle=dose.muscle, contractions=t("review.of", done=thousands(dose.contractions),
                                           due=thousands(dose.due_contractions)),
        contractions_share=share_words(t, count),
        flat=t("review.of_min", done=round(dose.flat_s / 60), due=round(dose.due_flat_s / 60)),
        flat_share=share_words(t, dose.share),
        strength=t("review.not_answered") if dose.mean_strength is None
        else mean_words(t, dose.mean_strength, dose.shows),
        product=t("review.of", done=thousands(round(dose.product / 60)),
                  due=f"{thousands(round(dose.due_product / 60))} {t(f'review.product.{dose.shows}')}"),
        product_share=share_words(t, dose.product_share),
        seconds=t("review.dose_seconds", muscle=dose.muscle, done=thousands(round(dose.flat_s)),
                  due=thousands(round(dose.due_flat_s)), product=thousands(round(dose.product)),
                  due_product=thousands(round(dose.due_product)), unit=t(f"review.seconds.{dose.shows}")))


def thousands(number: int) -> str:
    """Writes a whole number with its thousands apart."""
    return f"{number:,}".replace(",", " ")


def home(t: Translate, log: ClientLog, summary: Summary, limits: Thresholds) -> Home:
    """Says how it is done at home."""
    counts = hours_of_day(summary.sessions)
    clock, off = _clock(t, log, summary, limits)
    return Home(
        set_up=_set_up(t, log, summary, limits.slow_step_s), hours=hours_chart(counts), clock_off=off,
        hours_n=tuple((hour, n) for hour, n in enumerate(counts) if n), clock=clock)


def _clock(t: Translate, log: ClientLog, summary: Summary, limits: Thresholds) -> tuple[str, bool]:
    """Says how long a cycle of the exercise last tapped took and should have taken, and whether that is far off."""
    known = [s for s in summary.sessions if s.period_ppm is not None]
    planned_s = _cycle_s(log, known[-1]) if known else None
    clock = unit_clock([s for s in known if (s.exercise, s.version) == (known[-1].exercise, known[-1].version)])
    if clock is None or planned_s is None:
        return "", False

    def took(ppm: float) -> str:
        return f"{planned_s * (1 + ppm / PPM):.2f}"

    return t("review.clock", last=took(clock.last_ppm), planned=took(0), middle=took(clock.median_ppm),
             least=took(clock.least_ppm), most=took(clock.most_ppm), n=len(known), of=len(summary.sessions)), (
        abs(clock.last_ppm) > limits.different_percent * PPM // 100)


def _cycle_s(log: ClientLog, session: Session) -> float | None:
    """Gives the planned cycle of a session's exercise; None where the plan is not there or has none."""
    issued = next((e for plan in log.plans if plan.version == session.version
                   for e in plan.issued["exercises"] if e["exercise"] == session.exercise), None)
    settings = read_settings(issued["settings"]) if issued else None
    return work_out_cycle(settings).cycle_ms / 1000 if settings and not settings.is_steady else None


def _set_up(t: Translate, log: ClientLog, summary: Summary, slow_s: int) -> SetUpPanel:
    found = set_up(summary.sessions, log.versions, slow_s)
    several = len({step.exercise for step in found.steps}) > 1
    rows = tuple(_step_row(t, step, f"{title_of(log.versions, step.exercise)}: " if several else "")
                 for step in found.steps)
    takes = "" if found.typical_s is None else t(
        "review.set_up_takes", time=_clock_words(t, found.typical_s), n=found.timed_n, of=len(summary.sessions))
    wrong_n = sum(1 for step in found.steps[:STEPS_SHOWN] if step.slow_n or step.skipped_n)
    shown = max(1, wrong_n)  # where nothing goes wrong, what takes longest
    return SetUpPanel(takes=takes, rows=rows[:shown], more=rows[shown:], slow_s=slow_s)


def _step_row(t: Translate, step: SetUpStep, title: str) -> StepRow:
    def of(n: int, all_n: int) -> str:
        return t("review.of", done=n, due=all_n)

    longest = t("review.none") if step.typical_s is None else t(
        "review.step_longest", n=step.longest_n, of=step.timed_n, time=_clock_words(t, step.typical_s))
    return StepRow(text=f"{title}{step.text}", skipped=of(step.skipped_n, step.of_n), longest=longest,
                   slow=of(step.slow_n, step.of_n), is_slow=step.slow_n > 0)


def _clock_words(t: Translate, seconds: float) -> str:
    """Writes a time as seconds, from 100 s on with its minutes."""
    whole = round(seconds)
    if whole < MINUTES_FROM_S:
        return t("review.time_s", s=whole)
    return t("review.time_min_s", min=whole // 60, s=whole % 60)


def skin_panel(log: ClientLog, summary: Summary) -> SkinPanel:
    """Says what was seen on the skin, place by place."""
    seen = [one for one in skin_seen(log.log, log.versions) if summary.first <= day_of(one) <= summary.last]
    return SkinPanel(chart=skin_chart(seen, summary.first, summary.last), seen=tuple(reversed(seen)))


def period_words(t: Translate, days: tuple[date, date]) -> str:
    """Writes a period as *12 Oct to 25 Oct*."""
    first, last = (day_words(t, day, weekday=False) for day in days)
    return first if days[0] == days[1] else t("review.period_of", first=first, last=last)
