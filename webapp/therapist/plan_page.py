"""What the plan builder's template shows of a draft: values as typed, what is wrong beside each, choices in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from webapp.guidance.sources import Source, source
from webapp.prescribing.build_up import build_up_words
from webapp.prescribing.changes import day_text
from webapp.prescribing.checking import CheckedDraft, Found, Trouble
from webapp.prescribing.drafting import (
    CHOICES,
    CONVENTIONS,
    MOST_BUILD,
    MOST_STEPS,
    NUMBERS,
    Known,
    Typed,
    channel_count,
    exercise_count,
    loses_feeling,
    rows,
    set_by_unit,
    shown_settings,
    text,
    texts,
)
from webapp.prescribing.figures import Figures, work_out_figures
from webapp.prescribing.finding_words import finding_text
from webapp.prescribing.first_trial import TRIAL_RULES, proposals
from webapp.prescribing.tested import day_of_tick, is_anew
from webapp.stimulation import plan as plan_values
from webapp.stimulation.placement import MOVEMENTS
from webapp.therapist.placing_page import PlacingPage
from webapp.translations import Translate

ALLOWED: Mapping[str, tuple[str, ...]] = {
    "drive": plan_values.DRIVES, "waveform": plan_values.WAVEFORMS, "pattern": plan_values.PATTERNS,
    "relation": plan_values.RELATIONS, "ramps": plan_values.RAMPS, "delay_effect": plan_values.DELAY_EFFECTS,
    "delay_from": plan_values.DELAY_FROM, "alternating_rest": plan_values.ALTERNATING_RESTS,
    "starts_with": plan_values.STARTS_WITH, "at_end": plan_values.AT_END,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRow:
    """One finding in words: how grave, what, where from, and the nearest values as buttons."""

    severity: str
    text: str
    field: str
    place: str
    source: Source | None
    nearest: tuple[tuple[str, str], ...]  # what the field is set to, and what the button says
    more: tuple[FindingRow, ...] = ()  # what else was found about the same field


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPage:
    """A draft with what it was checked against."""

    draft: Typed
    known: Known
    checked: CheckedDraft
    t: Translate

    @property
    def placing(self) -> PlacingPage:
        """Gives what is shown of where the pads go."""
        return PlacingPage(draft=self.draft, checked=self.checked, t=self.t, row=self._row)

    @property
    def numbers(self) -> range:
        return range(1, exercise_count(self.draft) + 1)

    def value(self, name: str) -> str:
        found = self.draft.get(name, "")
        return (found[0] if found else "") if isinstance(found, list) else found

    def values(self, name: str) -> list[str]:
        return texts(self.draft, name)

    def channels(self, ex: str) -> range:
        return range(1, channel_count(self.draft, ex) + 1)

    def stimulator(self, ex: str) -> Mapping[str, Any]:
        return self.known.stimulators.get(text(self.draft, f"{ex}.stimulator"), {})

    def unit(self, ex: str) -> str:
        """Gives the unit of strength that the chosen stimulator shows."""
        return "" if self.stimulator(ex).get("shows") == "level" else "mA"

    def shown(self, ex: str) -> list[str]:
        return shown_settings(self.draft, ex, self.stimulator(ex))

    def kept(self, ex: str) -> list[tuple[str, str]]:
        """Lists typed fields that do not apply just now; they travel along unseen, so that nothing is lost."""
        shown = {f"{ex}.{name}" for name in self.shown(ex)}
        hidden = [f"{ex}.{name}" for name in (*NUMBERS, *CONVENTIONS, "waveform", "pattern", "relation")]
        gone = [name for name in hidden if name not in shown]
        gone += [name for name in self.draft if name.startswith(f"{ex}.ch2.") and len(self.channels(ex)) == 1]
        return [(name, self.value(name)) for name in gone if self.value(name)]

    def fixed(self, ex: str) -> list[str]:
        """Names the conventions that the unit fixes, in words."""
        found = [(name, set_by_unit(self.stimulator(ex), name)) for name in CONVENTIONS]
        return [self.t(f"choice.{name}.{value}") for name, value in found if value and self._matters(ex, name)]

    def _matters(self, ex: str, name: str) -> bool:
        return name in shown_settings(self.draft, ex, {})

    def choices(self, name: str) -> list[tuple[str, str]]:
        field = name.rsplit(".", 1)[-1]
        return [(value, self.t(f"choice.{field}.{value}")) for value in ALLOWED[field]]

    def is_choice(self, name: str) -> bool:
        return name in (*CHOICES, *CONVENTIONS)

    def movements(self) -> list[tuple[str, str]]:
        return [("", self.t("builder.choose")), *((m.id, self.t(m.title)) for m in MOVEMENTS)]

    def stimulators(self) -> list[tuple[str, str]]:
        listed = [(n, str(one["name"])) for n, one in self.known.stimulators.items()]
        return [("", self.t("builder.choose")), *listed]

    def steps(self, ex: str) -> int:
        return rows(self.draft, f"{ex}.step", MOST_STEPS)

    def loses_feeling(self, n: int) -> bool:
        """Tells whether feeling is less or lost under a pad of exercise n."""
        return loses_feeling(self.draft, n)

    def proposed(self, n: int) -> list[str]:
        """Writes what the first trial of exercise n proposes, a line for each channel."""
        ex, blank = f"ex{n}", self.t("trial.proposed_none")
        found = proposals(self.draft, n, self.stimulator(ex))
        return [self.t("trial.proposed_line", name=self.value(f"{ex}.ch{c}.name") or self.t("builder.channel_n", n=c),
                       strength=found.get(f"{ex}.ch{c}.intensity", blank),
                       ceiling=found.get(f"{ex}.ch{c}.ceiling", blank))
                if f"{ex}.ch{c}.ceiling" in found else f"{self.value(f'{ex}.ch{c}.name') or c}: {blank}"
                for c in self.channels(ex)]

    def builds(self, ex: str) -> int:
        return rows(self.draft, f"{ex}.build", MOST_BUILD)

    def wrong(self, name: str) -> bool:
        """Tells whether a field holds something that can't be right (an empty one is only unfinished)."""
        return any(trouble.field == name and trouble.key != "missing" for trouble in self.checked.troubles)

    def label(self, name: str) -> str:
        """Names a field, and its channel where it has one."""
        parts = name.split(".")
        if parts[0][:2] != "ex":
            return self.t(f"builder.field.{name}")
        last = parts[-1]
        numbered = [part.rstrip("0123456789") for part in parts[1:-1]]
        if numbered[:1] in (["step"], ["build"]):
            return self.t(f"builder.row.{numbered[0]}", n=parts[1].removeprefix(numbered[0]))
        words = self.t(f"builder.field.{last}")
        if numbered[:1] == ["ch"]:
            words = self.t("builder.of_channel", n=parts[1][2:], field=words)
        return words

    def place(self, name: str) -> str:
        """Names the exercise that a field belongs to, where there are several."""
        many = len(self.numbers) > 1 and name.startswith("ex") and name[2:3].isdigit()
        return self.t("builder.in_exercise", n=name[2]) if many else ""

    def trouble_text(self, trouble: Trouble) -> str:
        label = self.label(trouble.field)
        if trouble.key == "missing":
            return self.t("builder.missing", field=label)
        return self.t(f"problem.{trouble.key}", **{**trouble.params, "path": label}).replace("`", "")

    def troubles(self, n: int | None = None) -> list[Trouble]:
        """Lists what is wrong: all of it, or what belongs to one exercise and to the plan as a whole."""
        return [t for t in self.checked.troubles if n is None or t.field.startswith(f"ex{n}.") or "." not in t.field]

    def figures(self, n: int) -> Figures | None:
        """Works out the hills and numbers of one exercise."""
        return work_out_figures(self.checked.exercises[n - 1], self.t)

    def build_up_words(self, n: int) -> list[str]:
        """Says what the build-up of exercise n does."""
        issued = self.checked.issued
        exercises = issued.get("exercises", ())
        return build_up_words(exercises[n - 1], issued["first_day"], issued["last_day"], self.t) \
            if n <= len(exercises) else []

    def build_up_findings(self, n: int) -> list[FindingRow]:
        """Lists what was found about the steps of a build-up, to be shown where they are typed."""
        return [self._row(found) for found in self._found(n) if ".build" in found.field]

    def trial_findings(self, n: int) -> list[FindingRow]:
        """Lists what the first trial says, to be shown where it is typed."""
        return [self._row(found) for found in self._found(n) if found.finding.rule in TRIAL_RULES]

    def tested(self, n: int) -> str:
        """Says of a first trial that was taken over when and by whom it was done; "" where it is this version's."""
        before = self.known.tested.get(n)
        if before is None or n > len(self.checked.exercises):
            return ""
        if is_anew(self.checked.exercises[n - 1].raw, before, self.value(f"ex{n}.tested")):
            return ""
        return self.t("trial.taken_over", version=before.version, day=day_text(before.on, self.t), name=before.by)

    def tested_day(self, n: int) -> str:
        """Names the day on which exercise n was tested again, or would be."""
        return day_text(day_of_tick(self.value(f"ex{n}.tested"), self.known.today), self.t)

    def _found(self, n: int) -> tuple[Found, ...]:
        exercises = self.checked.exercises
        return exercises[n - 1].findings if n <= len(exercises) else ()

    def findings(self, n: int) -> list[FindingRow]:
        """Lists the findings, gravest first; all that is about one field stands under the gravest of it."""
        of_field: dict[str, list[FindingRow]] = {}
        for found in self.checked.exercises[n - 1].findings:
            of_field.setdefault(found.field, []).append(self._row(found))
        return [replace(first, more=tuple(more)) for first, *more in of_field.values()]

    def _row(self, found: Found) -> FindingRow:
        finding = found.finding
        buttons = tuple((str(value), self._said(found.field, value)) for value in finding.nearest)
        label = self.label(found.field)
        words = finding_text(finding, label.lower(), self.t)
        if ".build" in found.field:  # the sentence speaks of minutes; which step's has to be said
            words = f"{label}: {words}"
        return FindingRow(severity=finding.severity, text=words, field=found.field, place=self.place(found.field),
                          source=source(finding.source), nearest=buttons)

    def _said(self, field: str, value: float | str) -> str:
        last = field.rsplit(".", 1)[-1]
        return self.t(f"choice.{last}.{value}") if isinstance(value, str) and last in ALLOWED else f"{value:g}" \
            if isinstance(value, float) else str(value)

