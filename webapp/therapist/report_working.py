"""The second page of a report: how each figure of the first was worked out."""

from __future__ import annotations

from collections.abc import Iterator

from webapp.exports.report import Figure, Part
from webapp.practice.goals import Attainment
from webapp.therapist.report_facts import Facts
from webapp.therapist.review_panels import dose_rows
from webapp.therapist.words import duration_words, share_words
from webapp.translations import Translate


def working_parts(facts: Facts) -> Iterator[Part]:
    """Lists the parts of the working that belong to what was chosen."""
    chosen = facts.chosen
    if chosen.has("home"):
        yield _counting(facts)
        yield _by_exercise(facts)
        yield _dose(facts)
    if chosen.has("goals") and facts.goals.goals:
        yield _goals(facts)
    if chosen.has("measures") and facts.goals.measures:
        yield _measures(facts)
    yield _meanings(facts)


def _counting(facts: Facts) -> Part:
    t, c = facts.t, facts.summary.total
    days, of_days = facts.summary.days_used
    return Part(name="counting", heading=t("report.part.home"), figures=(
        Figure(name="w-planned", label=t("report.w.planned"), value=str(c.planned_n), means=t(
            "report.w.planned_how", done=c.done_n, missed=c.missed_n, excused=c.excused_n, unknown=c.unknown_n,
            paper=c.paper_n)),
        Figure(name="w-sessions", label=t("report.w.sessions"), value=share_words(t, c.sessions_share),
               means=t("report.w.sessions_how", done=c.done_n, missed=c.missed_n, due=c.due_n)),
        Figure(name="w-minutes", label=t("report.w.minutes"), value=share_words(t, c.minutes_share),
               means=t("report.w.minutes_how", counted=duration_words(t, c.counted_s), due=duration_words(t, c.due_s),
                       cued=duration_words(t, c.cued_s))),
        Figure(name="w-completion", label=t("report.w.completion"), value=share_words(t, c.completion_share),
               means=t("report.w.completion_how", complete=c.done_n + c.extra_n - c.short_n, started=c.started_n)),
        Figure(name="w-days", label=t("review.days"), value=t("review.of", done=days, due=of_days),
               means=t("report.w.days_how"))))


def _by_exercise(facts: Facts) -> Part:
    t = facts.t
    return Part(name="by-exercise", heading=t("review.by_exercise"), figures=tuple(
        Figure(name=f"w-exercise-{e.exercise}", label=e.title or str(e.exercise),
               value=t("review.of", done=e.count.done_n, due=e.count.due_n),
               means=t("report.w.exercise_how", minutes=duration_words(t, e.count.cued_s),
                       contractions=e.count.contractions_n)) for e in facts.summary.exercises))


def _dose(facts: Facts) -> Part:
    """Writes out each muscle's dose by the log, in the words of the review."""
    t = facts.t
    rows = dose_rows(t, facts.log, facts.summary)
    return Part(name="dose", heading=t("report.w.dose"), said=(t("report.w.dose_how"),), figures=tuple(
        Figure(name=f"w-dose-{n}", label=row.muscle, value=f"{row.product} ({row.product_share})", means=row.seconds)
        for n, row in enumerate(rows, 1)))


def _goals(facts: Facts) -> Part:
    t, page = facts.t, facts.goals
    after = page.now or page.before
    rows = tuple(
        Figure(name=f"w-goal-{s.goal.number}",
               label=f"“{s.goal.words}”" if facts.chosen.words_agreed else t("report.goal_n", n=n),
               value=f"{t(f'goals.level_short.{s.goal.baseline}')} → {t(f'goals.level_short.{s.level}')}",
               means=t("report.w.goal_how", importance=s.goal.importance, difficulty=s.goal.difficulty,
                       weight=s.goal.weight, before=_signed(s.goal.weight * s.goal.baseline), now=_signed(s.weighted)))
        for n, s in enumerate(after.scored, 1))
    said = [t(key) + " " + formula_words(t, found) for key, found in (
        ("goals.formula_words", page.before), ("goals.formula_now", page.now)) if found and found.t_score is not None]
    return Part(name="goals", heading=t("goals.score"), said=(*said, t("goals.formula_source")), figures=rows)


def formula_words(t: Translate, found: Attainment) -> str:
    """Writes the score's formula with its numbers."""
    return t("goals.formula", sum_wx=_signed(found.sum_weighted), sum_w2=found.sum_squares, sum_w=found.sum_weights,
             root=f"{found.spread:.3f}", score=f"{found.t_score:.1f}")


def _signed(number: int) -> str:
    return f"{number:d}".replace("-", "−")


def _measures(facts: Facts) -> Part:
    t = facts.t
    return Part(name="measures", heading=t("report.part.measures"), figures=tuple(
        Figure(name=f"w-measure-{row.measure.number}", label=row.measure.name,
               value=f"{row.change.difference:+.4g}".replace("-", "−") if row.change else t("review.none"),
               means="; ".join(f"{r.day.isoformat()}: {r.value:g}" for r in row.counted))
        for row in facts.goals.measures if row.counted))


def _meanings(facts: Facts) -> Part:
    t = facts.t
    said = [t("review.by_the_log"), t("report.w.sources")]
    return Part(name="meanings", heading=t("report.w.meanings"), said=tuple(said))
