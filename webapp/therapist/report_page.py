"""Composes a report: sentences and figures, each figure with its definition, from the same numbers as the screen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from webapp.exports.report import Figure, Part, Report, WeekBar
from webapp.practice.goals import Scored
from webapp.practice.session import is_skin_finding
from webapp.practice.skin_findings import SkinFinding, once
from webapp.practice.summary import StrengthLine, places_of, skin_answers
from webapp.storage.answers import Answer
from webapp.therapist.goals_page import MeasureRow
from webapp.therapist.report_facts import Facts, full_date
from webapp.therapist.report_photos import chosen_photos
from webapp.therapist.report_training import training_part
from webapp.therapist.report_working import working_parts
from webapp.therapist.review_page import plan_exercises
from webapp.therapist.review_panels import DoseRow, dose_rows
from webapp.therapist.review_records import entry_text
from webapp.therapist.words import (
    day_words,
    duration_words,
    moment_words,
    share_words,
    shortened,
    skin_word,
    strength_words,
)
from webapp.translations import Translate

# the first page stays one page
FINDINGS_SHOWN, NOTES_SHOWN, STRENGTHS_SHOWN, DOSES_SHOWN, ROWS_SHOWN = 3, 3, 4, 3, 5
LINES_OF_CLINIC = 4
NO_BREAK = "\u00a0"


def compose_report(facts: Facts) -> Report:
    """Puts a report together from what was chosen."""
    t, chosen = facts.t, facts.chosen
    makers = {"aim": _aim, "plan": _plan, "training": training_part, "home": _home, "skin": _skin, "goals": _goals,
              "measures": _measures, "words": _words, "asked": _asked}
    parts = tuple(part for name, make in makers.items() if chosen.has(name) and (part := make(facts)))
    weeks = tuple(WeekBar(label=day_words(t, w.start, weekday=False), cued_min=round(w.count.cued_s / 60),
                          due_min=round(w.count.due_s / 60)) for w in facts.summary.weeks)
    return Report(
        title=t(f"report.title.{chosen.reader}"), sender=(facts.clinic.name, *facts.clinic.lines[:LINES_OF_CLINIC]),
        about=tuple(_about(facts)), parts=parts, weeks=weeks if chosen.has("home") else (),
        weeks_heading=t("report.weeks"), weeks_means=t("report.weeks_means"), working_heading=t("report.working"),
        working=tuple(working_parts(facts)) if chosen.has("working") else (), sign=t("report.sign", name=facts.author),
        foot=t("report.foot", code=facts.log.client.code, day=full_date(t, facts.log.today)),
        photos_heading=t("report.photos") if chosen.photos else "", photos=chosen_photos(facts))


def _about(facts: Facts) -> Iterator[tuple[str, str]]:
    t, chosen, client = facts.t, facts.chosen, facts.log.client
    if chosen.reader_name:
        yield t("report.to"), chosen.reader_name
    yield t("report.client"), f"{client.code}, {client.first_name}" if chosen.first_name else client.code
    yield t("report.period"), t("report.days", first=full_date(t, chosen.first), last=full_date(t, chosen.last))
    yield t("report.made"), t("report.made_by", day=full_date(t, facts.log.today), name=facts.author)


def _aim(facts: Facts) -> Part | None:
    said = (facts.chosen.aim,) if facts.chosen.aim else ()
    return Part(name="aim", heading=facts.t("report.part.aim"), said=said) if said else None


def _plan(facts: Facts) -> Part | None:
    t, log = facts.t, facts.log
    if log.plan is None:
        return Part(name="plan", heading=t("report.part.plan"), said=(t("report.no_plan"),))
    newest = log.versions[-1]
    said = [t("report.plan_line", version=newest.version, first=full_date(t, newest.starts),
              last=full_date(t, newest.last_day), unit=", ".join(dict.fromkeys(
                  str(e["stimulator"]["name"]) for e in log.plan.issued["exercises"])))]
    figures = tuple(
        Figure(name=f"plan-{n}", label=e.title, value=f"{e.settings}; {e.dose}",
               means=" · ".join(t("review.ceiling_of", name=name, value=value)
                                for name, value in zip(e.names, e.ceilings, strict=True)))
        for n, e in enumerate(plan_exercises(t, log), 1))
    return Part(name="plan", heading=t("report.part.plan"), said=tuple(said), figures=figures)


def _home(facts: Facts) -> Part:
    t, summary = facts.t, facts.summary
    c, (days, of_days) = summary.total, summary.days_used
    figures = [
        Figure(name="sessions", label=t("review.sessions"),
               means=f"{t('review.done_rule')} {t('report.means.sessions')}",
               value=_of(t, c.done_n, c.due_n, c.sessions_share)),
        Figure(name="minutes", label=t("report.minutes"), means=t("report.means.minutes"),
               value=_of(t, duration_words(t, c.counted_s), duration_words(t, c.due_s), c.minutes_share)),
        Figure(name="cued", label=t("review.practice_time"), value=duration_words(t, c.cued_s),
               means=t("report.means.cued")),
        Figure(name="contractions", label=t("review.contractions"), value=f"{c.contractions_n:,}".replace(",", " "),
               means=t("report.means.contractions")),
        Figure(name="days", label=t("review.days"), means=t("report.means.days"),
               value=_of(t, days, of_days, days / of_days if of_days else None))]
    figures += [_dose(t, n, row) for n, row in enumerate(dose_rows(t, facts.log, summary)[:DOSES_SHOWN], 1)]
    figures += [_strength(t, n, line) for n, line in enumerate(summary.strength[:STRENGTHS_SHOWN], 1)]
    if len(summary.pain_after) > 1:
        first, last = summary.pain_after[0], summary.pain_after[-1]
        figures.append(Figure(name="pain", label=t("report.pain"), value=f"{first.value:g} → {last.value:g}",
                              means=t("report.means.pain")))
    said = [*([t("report.cut", n=c.cut_n)] if c.cut_n else []),
            *([t("report.set_apart", apart=_apart(facts))] if _apart(facts) else [])]
    return Part(name="home", heading=t("report.part.home"), figures=tuple(figures), said=tuple(said))


def _of(t: Translate, done: object, due: object, share: float | None) -> str:
    return t("report.share_of", done=done, due=due, share=share_words(t, share).replace(" ", NO_BREAK))


def _apart(facts: Facts) -> str:
    c = facts.summary.total
    return ", ".join(facts.t(f"review.apart.{name}", n=n) for name, n in (
        ("excused", c.excused_n), ("unknown", c.unknown_n), ("paper", c.paper_n), ("extra", c.extra_n)) if n)


def _dose(t: Translate, n: int, row: DoseRow) -> Figure:
    """Gives one muscle's dose by the log as the review does."""
    return Figure(name=f"dose-{n}", label=t("report.dose", muscle=row.muscle), means=t("report.means.dose"),
                  value=f"{row.flat} ({row.flat_share.replace(' ', NO_BREAK)})")


def _strength(t: Translate, n: int, line: StrengthLine) -> Figure:
    first, last = line.points[0].value, line.points[-1].value
    ceiling = strength_words(t, line.ceilings[-1][1], line.shows) if line.ceilings else t("review.none")
    return Figure(name=f"strength-{n}", label=t("report.strength", name=line.channel_name or line.title),
                  value=f"{first:g} → {strength_words(t, last, line.shows)}",
                  means=t("report.means.strength", ceiling=ceiling))


def _skin(facts: Facts) -> Part:
    t, summary = facts.t, facts.summary
    days = sum(day.finding for week in summary.weeks for day in week.days)
    figures = (
        Figure(name="skin-days", label=t("report.skin_days"), value=str(days),
               means=t("report.means.skin_days", rule=t("review.skin_rule"))),
        Figure(name="skin-looks", label=t("report.looks"), value=str(len(summary.looks_missing)),
               means=t("report.means.looks")))
    found = list(_skin_findings(facts))
    more = len(found) - FINDINGS_SHOWN
    said = [*found[:FINDINGS_SHOWN], *([t("report.more_findings", n=more)] if more > 0 else [])]
    none = "report.no_findings" if summary.skin_asked else "report.no_skin_answers"
    return Part(name="skin", heading=t("report.part.skin"), said=tuple(said) or (t(none),),
                figures=figures)


def _skin_findings(facts: Facts) -> Iterator[str]:
    """Writes each skin finding of the period with what was answered, the newest first."""
    t = facts.t
    notes = {(a.device, a.seq): a for a in facts.log.answers}
    for same in reversed(once(facts.summary.findings)):
        answer = next((notes[one.key] for one in same if one.key in notes), None)
        seen = "; ".join(f"{day_words(t, one.entry.day)}: {_seen(facts, one)}" for one in same)
        yield f"{seen}. {_answer(facts, answer) if answer else t('report.not_answered')}"


def _seen(facts: Facts, found: SkinFinding) -> str:
    """Says what was seen where; of a session that was stopped for the skin without an answer, just that."""
    t, log = facts.t, facts.log
    if found.session is None:
        return entry_text(t, log, found.entry)
    places = places_of(found.session, log.versions)
    return "; ".join(f"{a.place}: {skin_word(t, a.answer)}" if places and a.place else skin_word(t, a.answer)
                     for a in skin_answers(found.session, log.versions) if is_skin_finding(a.answer)
                     ) or t("report.stopped_for_skin")


def _answer(facts: Facts, answer: Answer) -> str:
    t = facts.t
    note = shortened("; ".join(filter(None, [answer.note, answer.next_step])))
    return t("report.answered", day=moment_words(t, answer.answered_ms, facts.clinic.zone), note=note)


def _goals(facts: Facts) -> Part | None:
    t, page = facts.t, facts.goals
    if not page.goals:
        return None
    after = page.now or page.before
    figures = [Figure(name=f"goal-{s.goal.number}", label=_goal_name(facts, s, n),
                      value=f"{t(f'goals.level_short.{s.goal.baseline}')} → {t(f'goals.level_short.{s.level}')}",
                      means=_levels(s) if facts.chosen.words_agreed else t("report.means.goal"))
               for n, s in enumerate(after.scored[:ROWS_SHOWN], 1)]
    before_t, after_t = page.before.t_score, page.now.t_score if page.now else None
    if before_t is not None and after_t is not None:
        figures.append(Figure(name="t-score", label=t("goals.score"), value=f"{before_t:.1f} → {after_t:.1f}",
                              means=t("report.means.t_score")))
    return Part(name="goals", heading=t("report.part.goals"), figures=tuple(figures), said=_more(t, after.scored))


def _more(t: Translate, rows: Sequence[object]) -> tuple[str, ...]:
    """Says how many rows stand on the second page only: the first has to stay one page."""
    more = len(rows) - ROWS_SHOWN
    return (t("report.more_there", n=more),) if more > 0 else ()


def _levels(scored: Scored) -> str:
    was, now = (shortened(scored.goal.level_words(level)) for level in (scored.goal.baseline, scored.level))
    return now if was == now else f"{was} → {now}"


def _goal_name(facts: Facts, scored: Scored, n: int) -> str:
    """Names a goal in the client's words only where they agreed."""
    return f"“{shortened(scored.goal.words)}”" if facts.chosen.words_agreed else facts.t("report.goal_n", n=n)


def _measures(facts: Facts) -> Part | None:
    rows = [row for row in facts.goals.measures if row.counted]
    return Part(name="measures", heading=facts.t("report.part.measures"),
                figures=tuple(_measure(facts.t, row) for row in rows[:ROWS_SHOWN]),
                said=_more(facts.t, rows)) if rows else None


def _measure(t: Translate, row: MeasureRow) -> Figure:
    measure, change = row.measure, row.change
    least = (t("measure.matters_from", value=f"{measure.smallest_change:g}", unit=measure.unit, source=measure.source)
             if measure.smallest_change is not None else t("measure.matters_unknown"))
    shown = (f"{change.first.value:g} → {change.last.value:g} {measure.unit}" if change
             else f"{row.counted[0].value:g} {measure.unit}")
    known = change is not None and change.verdict != "unknown"
    verdict = f"{_sentence(t(f'measure.verdict.{change.verdict}'))}. " if change and known else ""
    return Figure(name=f"measure-{measure.number}", label=measure.name, value=shown.rstrip(),
                  means=f"{verdict}{t(f'measure.direction.{measure.direction}')}. {least}")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _words(facts: Facts) -> Part | None:
    """Gives what the client wrote, only with their say."""
    t, chosen = facts.t, facts.chosen
    notes = [s for s in facts.log.log.sessions if s.note and chosen.first <= s.day <= chosen.last]
    if not chosen.words_agreed or not notes:
        return None
    said = tuple(f"{day_words(t, s.day)}: “{s.note}”" for s in reversed(notes[-NOTES_SHOWN:]))
    return Part(name="words", heading=t("report.part.words"), said=(*said, t("report.words_said")))


def _asked(facts: Facts) -> Part | None:
    t, chosen = facts.t, facts.chosen
    named = ", ".join(t(f"report.ask.{ask}") for ask in chosen.asks if ask != "other")
    said = tuple(filter(None, [_sentence(": ".join(filter(None, [named, chosen.asked]))),
                               t("report.because", why=chosen.why) if chosen.why else ""]))
    return Part(name="asked", heading=t("report.part.asked"), said=said) if said else None
