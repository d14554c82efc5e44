"""The report: each figure is the screen's, what goes in is chosen, the client's words come with their say, one page."""

from __future__ import annotations

import html
import io
import re
from datetime import timedelta
from typing import Any

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
from PIL import Image

from tests.client.invented_clinic import EXERCISE
from tests.exports.invented_practice import CODE, HOPE, NAME, WORDS, InventedPractice
from tests.therapist.house import Browser
from webapp.exports.report import Report, read_report, write_report
from webapp.exports.report_pdf import report_pdf
from webapp.planned_dose import planned_dose
from webapp.practice.dose_by_log import dose_by_muscle
from webapp.practice.goals import Goal, attainment, baseline
from webapp.practice.measures import change
from webapp.practice.schedule import read_version
from webapp.practice.summary import Summary
from webapp.prescribing.changes import day_text
from webapp.prescribing.teach_back import record_teach_back
from webapp.settings import static_folder
from webapp.storage import clients, goals, measures, plans, reports
from webapp.therapist.report import read_log
from webapp.therapist.report_facts import PARTS, summary_of_period
from webapp.translations import translator

T = translator("en")
ALL = list(PARTS)
LONG = "Reaching, holding and letting go, at home and with somebody beside. " * 6


def sent(practice: InventedPractice, **changed: Any) -> dict[str, Any]:
    return {"reader": "funder", "reader_name": "Invented Fund", "first": practice.first.isoformat(),
            "last": practice.today.isoformat(), "parts": ALL, "aim": "To drink unaided.", "asks": ["pads", "unit"],
            "asked": "2 packs a month", "why": "She practises.", "words_agreed": "yes", **changed}


def make(practice: InventedPractice, browser: Browser, **changed: Any) -> Report:
    answer = browser.send(f"/clinic/clients/{practice.client_id}/report/new", **sent(practice, **changed))
    assert answer.status_code == 303, answer.text
    stored = reports.of_client(practice.house.db, practice.client_id)[0]
    return read_report(stored.content)


def figures(report: Report) -> dict[str, str]:
    return {f.name: f.value.replace("\u00a0", " ") for part in (*report.parts, *report.working) for f in part.figures}


def everything(report: Report) -> str:
    return write_report(report)


@pytest.fixture(scope="module")
def lead(practice: InventedPractice) -> Browser:
    return practice.house.browser("ines")


@pytest.fixture(scope="module")
def report(practice: InventedPractice, lead: Browser) -> Report:
    return make(practice, lead)


def summary_of(practice: InventedPractice, **days: int) -> Summary:
    with practice.house.app.test_request_context("/clinic/"):
        client = clients.read(practice.house.db, practice.client_id)
        assert client
        log = read_log(client)
        return summary_of_period(log, practice.first + timedelta(days=days.get("later", 0)), practice.today)


def test_each_figure_is_that_of_the_function_behind_the_screen(practice: InventedPractice, report: Report) -> None:
    """Sessions, minutes, days, contractions, strength, pain, skin: from the summary that the review shows."""
    summary, found = summary_of(practice), figures(report)
    total, (days, of_days) = summary.total, summary.days_used
    expected = {
        "sessions": f"{total.done_n} of {total.due_n} ({percent(total.sessions_share)})",
        "minutes": f"{minutes(total.counted_s)} of {minutes(total.due_s)} ({percent(total.minutes_share)})",
        "cued": minutes(total.cued_s), "contractions": str(total.contractions_n),
        "days": f"{days} of {of_days} ({percent(days / of_days)})",
        "pain": f"{summary.pain_after[0].value:g} → {summary.pain_after[-1].value:g}",
        "strength-1": f"{summary.strength[0].points[0].value:g} → {summary.strength[0].points[-1].value:g} mA",
        "skin-days": str(sum(day.finding for week in summary.weeks for day in week.days)),
        "skin-looks": str(len(summary.looks_missing)), "w-planned": str(total.planned_n),
        "w-sessions": percent(total.sessions_share), "w-minutes": percent(total.minutes_share),
        "w-completion": percent(total.completion_share), "w-days": f"{days} of {of_days}",
        **{f"w-exercise-{e.exercise}": f"{e.count.done_n} of {e.count.due_n}" for e in summary.exercises}}
    assert {name: found[name] for name in expected} == expected
    assert [(w.cued_min, w.due_min) for w in report.weeks] == [
        (round(w.count.cued_s / 60), round(w.count.due_s / 60)) for w in summary.weeks]


def test_dose_is_that_of_the_review(practice: InventedPractice, report: Report) -> None:
    """Flat-top minutes of each muscle, done and due, from the function behind the review's dose."""
    found, summary = figures(report), summary_of(practice)
    plans_of = plans.history(practice.house.db, practice.client_id)
    versions = [read_version(plan.issued) for plan in reversed(plans_of)]
    doses = dose_by_muscle(summary.sessions, summary.days, versions, planned_dose(plans_of))
    assert doses
    for n, dose in enumerate(doses, 1):
        done, due = round(dose.flat_s / 60), round(dose.due_flat_s / 60)
        assert found[f"dose-{n}"] == f"{done} of {due} min ({percent(dose.share)})"
        assert found[f"w-dose-{n}"].endswith(f"({percent(dose.product_share)})")


def percent(share: float | None) -> str:
    assert share is not None
    return f"{round(100 * share)} %"


def minutes(seconds: int) -> str:
    whole = round(seconds / 60)
    return f"{whole} min" if whole < 120 else f"{whole // 60} h {whole % 60:02d} min"


def test_goals_and_measures_are_those_of_their_page(practice: InventedPractice, report: Report) -> None:
    """Levels, T-score and changes come from the same functions as the page of goals."""
    db, found = practice.house.db, figures(report)
    set_goals = goals.of_client(db, practice.client_id)
    reviews = [n.review for n in goals.reviews(db, practice.client_id)]
    before, after = baseline(set_goals).t_score, attainment(set_goals, reviews, practice.today).t_score
    assert before is not None
    assert after is not None
    expected = {"t-score": f"{before:.1f} → {after:.1f}", "goal-1": "−1 → +1", "goal-2": "−1 → −1"}
    readings = [n.reading for n in measures.readings(db, practice.client_id)]
    for measure in measures.list_all(db):
        compared = change(measure, readings)
        assert compared
        expected[f"measure-{measure.number}"] = (
            f"{compared.first.value:g} → {compared.last.value:g} {measure.unit}")
        expected[f"w-measure-{measure.number}"] = f"{compared.difference:+.4g}"
    assert {name: found[name] for name in expected} == expected


def test_every_figure_is_traced(report: Report) -> None:
    """No figure is left that the two tests above do not look at; the plan's come from the review's own words."""
    traced = re.compile(r"(w-)?(sessions|minutes|cued|contractions|days|pain|strength-\d|dose-\d|skin-days|skin-looks|"
                        r"planned|completion|exercise-\d|t-score|goal-\d|measure-\d)|plan-\d")
    assert [name for name in figures(report) if not traced.fullmatch(name)] == []
    assert len(figures(report)) > 20


def test_the_screen_shows_the_same(practice: InventedPractice, lead: Browser, report: Report) -> None:
    """The review's page of the whole time shows the very counts that the report gives."""
    review = text_of(lead.get(f"/clinic/clients/{practice.client_id}").text)
    done = figures(report)["sessions"].split(" (", maxsplit=1)[0]
    assert done in review
    assert figures(report)["cued"] in review
    assert figures(report)["t-score"].split(" → ")[1] in text_of(
        lead.get(f"/clinic/clients/{practice.client_id}/goals").text)


def text_of(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_a_shorter_period_counts_its_own_days(practice: InventedPractice, lead: Browser) -> None:
    """The numbers of a period are those of its days alone."""
    later = make(practice, lead, first=(practice.first + timedelta(days=40)).isoformat())
    total = summary_of(practice, later=40).total
    assert figures(later)["sessions"].startswith(f"{total.done_n} of {total.due_n} ")
    assert total.due_n < summary_of(practice).total.due_n


def test_only_what_was_chosen_goes_in(practice: InventedPractice, lead: Browser) -> None:
    """Parts that were not chosen are not there; the first name only when it was."""
    small = make(practice, lead, parts=["home", "asked"])
    assert [part.name for part in small.parts] == ["home", "asked"]
    assert small.working == ()
    assert NAME not in everything(small)
    assert CODE in everything(small)
    assert NAME in everything(make(practice, lead, first_name="yes"))


def test_the_clients_words_need_their_say(practice: InventedPractice, lead: Browser) -> None:
    """Without it notes are refused and goals numbered; that they agreed is kept with the report and in the trail."""
    path = f"/clinic/clients/{practice.client_id}/report/new"
    refused = lead.send(path, **sent(practice, words_agreed=""))
    assert refused.status_code == 422
    assert "only when the client agreed" in refused.text
    assert "To drink unaided." in refused.text
    without = make(practice, lead, words_agreed="", parts=[part for part in ALL if part != "words"])
    for words in (WORDS, HOPE, "hurt a little", "drinks from it"):
        assert words not in everything(without)
    assert "Goal 1" in everything(without)
    agreed = make(practice, lead)
    assert WORDS in everything(agreed)
    assert "hurt a little" in everything(agreed)
    assert reports.of_client(practice.house.db, practice.client_id)[0].chosen["words_agreed"] is True
    [detail] = practice.house.db.query("SELECT detail FROM audit WHERE action = 'report_made' ORDER BY id DESC LIMIT 1")
    assert '"words_agreed": true' in detail["detail"]


def test_a_report_is_kept_as_it_left(practice: InventedPractice, lead: Browser, report: Report) -> None:
    """It reads back as it was written, and its page shows every figure of it."""
    assert read_report(write_report(report)) == report
    made = reports.of_client(practice.house.db, practice.client_id)[-1]
    page = text_of(lead.get(f"/clinic/clients/{practice.client_id}/report/{made.id}").text)
    kept = read_report(made.content)
    for part in (*kept.parts, *kept.working):
        for figure in part.figures:
            assert f"{figure.label} {figure.value}".replace("\u00a0", " ") in page.replace("\u00a0", " ")


def drawn(report: Report) -> pdfium.PdfDocument:
    return pdfium.PdfDocument(report_pdf(report, static_folder() / "vendor"))


def test_pdf_says_what_the_report_says(report: Report) -> None:
    """Read by another library: a page for who pays, one with the working, each label and value on it."""
    document = drawn(report)
    assert len(document) == 2
    texts = [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
    for number, parts in enumerate((report.parts, report.working)):
        for part in parts:
            for figure in part.figures:
                assert squeezed(figure.value) in squeezed(texts[number]), figure.name
    assert "ąę" in texts[0] or "śćż" in texts[0]
    assert report_pdf(report, static_folder() / "vendor") == report_pdf(report, static_folder() / "vendor")


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def test_first_page_stays_one_page_with_all_that_may_be_typed(practice: InventedPractice, lead: Browser) -> None:
    """Every part chosen and every text as long as it may be: still one page, and one with the working."""
    full = make(practice, lead, aim=LONG[:400], training=LONG[:400], why=LONG[:400], asked="x " * 40,
                asks=["unit", "pads", "sessions", "other"], first_name="yes")
    assert len(drawn(full)) == 2


def test_many_goals_leave_the_first_page_one_page(small_practice: InventedPractice) -> None:
    """Five goals stand on the first page; how many more there are is said, and they are in the working."""
    practice = small_practice
    lead = practice.house.browser("ines")
    for n in range(7):
        goal = Goal(number=0, words=f"Goal number {n}, {LONG[:200]}", levels=(LONG[:190],) * 5, importance=1,
                    difficulty=1, baseline=-1, set_on=practice.first)
        with practice.house.practice.store.write(practice.house.db) as db:
            goals.add(db, practice.client_id, goal, made_ms=1, made_by=1)
    full = make(practice, lead)
    [part] = [part for part in full.parts if part.name == "goals"]
    assert part.said == ("4 more are on the second page.",)
    assert sum(name.startswith("w-goal-") for name in figures(full)) == 9
    assert "The working" in drawn(full)[1].get_textpage().get_text_bounded()


def test_training_names_the_recorded_teach_backs_and_no_other(small_practice: InventedPractice) -> None:
    """With their days, on page and paper; a visit with no mark is none; issuing a version is not training."""
    house, desk, day_ms = small_practice.house, small_practice.house.browser("ines"), 86_400_000
    exercise = {**EXERCISE, "set_up_steps": [{"text": "Wash the skin.", "part": "pads"}]}

    def said() -> str:
        return " ".join(part.said[-1] for part in make(small_practice, desk).parts if part.name == "training")

    with house.practice.store.write(house.db) as db:
        record_teach_back(db, small_practice.client_id, exercise, [""], with_unit=True, where="screen", user_id=1,
                          now_ms=house.clock.ms)
    assert said() == "No teach-back is recorded up to the last day of this report."
    with house.practice.store.write(house.db) as db:
        for days_ago, with_unit in ((-1, True), (3, False), (2, False), (2, True)):
            record_teach_back(db, small_practice.client_id, exercise, ["alone"], with_unit=with_unit, where="screen",
                              user_id=1, now_ms=house.clock.ms - days_ago * day_ms)
    third, second = (day_text((small_practice.today - timedelta(days=n)).isoformat(), T) for n in (3, 2))
    assert said().endswith(f": {third} (without the unit), {second} (with the unit).")
    stored = reports.of_client(house.db, small_practice.client_id)[0]
    page = desk.get(f"/clinic/clients/{small_practice.client_id}/report/{stored.id}").text
    printed = drawn(read_report(stored.content))[0].get_textpage().get_text_bounded()
    assert all(f"{second} (with the unit)" in " ".join(text.split()) for text in (page, printed))


def test_pdf_reads_in_black_and_white(report: Report) -> None:
    """Printed without greys, text and bars are still there: dark on white, within the margins."""
    picture = drawn(report)[0].render(scale=2).to_pil()
    assert isinstance(picture, Image.Image)
    plain = picture.convert("L").point(lambda grey: 255 * (grey > 128), mode="1")
    box = plain.convert("L").point(lambda grey: 255 - grey).getbbox()
    assert box
    assert box[0] > 40
    assert box[2] < picture.width - 40
    dark = 1 - sum(plain.convert("L").histogram()[255:]) / (picture.width * picture.height)
    assert 0.02 < dark < 0.3
    out = io.BytesIO()
    plain.save(out, "PNG")
    assert out.tell() > 10_000


def test_odd_texts_are_drawn_as_they_are(report: Report) -> None:
    """Signs of mark-up in a text are text."""
    odd = read_report(write_report(report).replace("To drink unaided.", "<b>1 < 2 & 3</b>"))
    text = drawn(odd)[0].get_textpage().get_text_bounded()
    assert "<b>1 < 2 & 3</b>" in text
