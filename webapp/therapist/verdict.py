"""One verdict before a plan is issued: settings, first trial, screening and teach-back, each as it stands."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.prescribing.checking import CheckedDraft
from webapp.prescribing.drafting import TRIAL
from webapp.prescribing.first_trial import TRIAL_RULES
from webapp.prescribing.readiness import TEACH_BACK_PAGE, Standing
from webapp.stimulation.finding import STOP
from webapp.therapist.screening_words import ScreeningWords
from webapp.translations import Translate

TRIED = frozenset({*TRIAL, "sensation", "skin_at_rest"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the verdict; `stops` where it keeps the plan in the clinic, `at` the page that mends it."""

    name: str
    text: str
    stops: bool
    at: str


def verdict(checked: CheckedDraft, standing: Standing, words: ScreeningWords, client_id: int,
            taken_over: tuple[str, ...]) -> tuple[Part, ...]:
    """Says of each part how it stands; `taken_over` are words on first trials that are those of a version before."""
    t, base = words.t, f"/clinic/clients/{client_id}"
    trial, settings = _stopping(checked)
    first = next(iter(sorted(trial)), "").split(".")[0] or "ex1"
    taught = [one for one in standing.obstacles if one.page.startswith(TEACH_BACK_PAGE)]
    screened = [one for one in standing.obstacles if one not in taught]
    shown = taught[0].page if taught else f"{TEACH_BACK_PAGE}/{standing.lapsed[0].exercise if standing.lapsed else 1}"
    return (
        _part(t, "settings", [t("verdict.settings.stops", n=len(settings))] if settings else [], f"{base}/plan"),
        _part(t, "trial", [t("verdict.trial.stops", n=len(trial))] if trial else [], f"{base}/plan#{first}-trial",
              fine=" ".join(taken_over)),
        _part(t, "screening", [words.obstacle(one) for one in screened], f"{base}/screening",
              fine=" ".join(words.overrides(standing.screening))),
        _taught(t, [words.obstacle(one) for one in taught], standing, f"{base}/{shown}"))


def _stopping(checked: CheckedDraft) -> tuple[set[str], set[str]]:
    """Parts the fields that stop the plan: those of the first trial, all others."""
    wrong = {one.field: one.finding.rule in TRIAL_RULES for each in checked.exercises for one in each.findings
             if one.finding.severity == STOP}
    wrong |= {one.field: one.field.rsplit(".", 1)[-1] in TRIED for one in checked.troubles}
    trial = {field for field, of_trial in wrong.items() if of_trial}
    return trial, set(wrong) - trial


def _part(t: Translate, name: str, said: list[str], at: str, fine: str = "") -> Part:
    text = " ".join(said) or fine or t(f"verdict.{name}.fine")
    return Part(name=t(f"verdict.{name}"), text=text, stops=bool(said), at=at)


def _taught(t: Translate, said: list[str], standing: Standing, at: str) -> Part:
    """What lapsed goes home with a written reason: said, and no stop."""
    if not said and standing.lapsed:
        return Part(name=t("verdict.teach"), text=t("verdict.teach.lapsed"), stops=False, at=at)
    return _part(t, "teach", said, at)
