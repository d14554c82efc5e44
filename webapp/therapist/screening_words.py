"""What the screening's pages say of a row: its question, the answer with its day and name, why it is asked again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from webapp.guidance.sources import Source, source
from webapp.prescribing.readiness import Obstacle, Standing
from webapp.prescribing.screening import ABILITIES, Item, Screening
from webapp.storage import assessments, clinic
from webapp.storage.assessments import Assessment
from webapp.storage.database import Db
from webapp.therapist.form import Form
from webapp.translations import Translate


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreeningWords:
    """Turns rows into sentences, in the clinic's time zone."""

    t: Translate
    zone: ZoneInfo
    days: int
    form: Form

    @classmethod
    def made(cls, db: Db, t: Translate, form: Form) -> ScreeningWords:
        return cls(t=t, zone=clinic.read(db).zone, days=assessments.screening_days(db), form=form)

    def says(self, item_id: str, what: str) -> str:
        """Gives a text of a row or an ability: ask, means, how, short."""
        return self.t(f"{'ability' if item_id in ABILITIES else 'screening'}.{item_id}.{what}")

    def may_say(self, item_id: str, what: str) -> str:
        try:
            return self.says(item_id, what)
        except KeyError:
            return ""

    def choice(self, item_id: str, answer: str) -> str:
        return self.says(item_id, answer) if item_id in ABILITIES else self.t(f"screening.{answer}")

    def sources(self, item: Item) -> list[Source]:
        return [source(id_) for id_ in (item.row.sources if item.row else ("practice",))]

    def day(self, at_ms: int) -> str:
        local = datetime.fromtimestamp(at_ms / 1000, UTC).astimezone(self.zone)
        month = self.t(f"date.month.{local.month}")
        return f"{self.t('date.day', day=local.day, month=month)} {local.year}"

    def place(self, place: str) -> str:
        region, side = place.split(":")
        return self.t("screening.place", region=self.t(f"screening.region.{region}"), side=self.t(f"side.{side}"))

    def places(self, places: Iterable[str]) -> str:
        return "; ".join(self.place(place) for place in sorted(places)) or self.t("screening.nowhere")

    def signed(self, item: Item) -> str:
        """Says what was answered, when and by whom; or why the row is asked again."""
        answer = item.answer
        if answer is None:
            return ""
        told = {"answer": self.choice(item.id, answer.content["answer"]), "day": self.day(answer.made_ms),
                "name": answer.made_by_name}
        if item.state != "open":
            return self.t("screening.answered", **told)
        if item.why == "old":
            return self.t("screening.asked_again_old", n=self.days, **told)
        return self.t("screening.asked_again_place", places=self.places(answer.content.get("places", ())), **told)

    def value(self, item: Item, name: str) -> str:
        """Gives a field of a row: as typed, else as it was answered."""
        field = item.id if name == "answer" else f"{item.id}.{name}"
        if field in self.form.values or self.form.errors:
            return self.form.value(field)
        return str(item.answer.content.get(name, "")) if item.answer and item.state != "open" else ""

    def overrides(self, screening: Screening) -> list[str]:
        return [self.t("screening.override_line", what=self.says(item.id, "short"), name=item.override.by,
                       day=self.day(item.override.made_ms), reason=item.override.reason)
                for item in screening.those("overridden") if item.override]

    def obstacle(self, one: Obstacle) -> str:
        return self.t(f"obstacle.{one.key}", **one.params)

    def short_state(self, standing: Standing) -> str:
        """Says in few words what the screening still asks for or blocks."""
        asked, blocked = (len(standing.screening.those(state)) for state in ("open", "blocked"))
        return self.t("screening.short_blocked") if blocked else self.t("screening.short_open", n=asked)

    def changed(self, what: Iterable[str]) -> str:
        """Names what changed since it was shown: steps, pads, unit."""
        return ", ".join(self.t(f"ready.changed.{name}") for name in what)

    def past(self, answer: Assessment) -> str:
        """Writes one earlier answer as a line of the history."""
        places = self.places(answer.content.get("places", ()))
        return self.t("screening.history_line", what=self.says(answer.subject, "short"), places=places,
                      answer=self.choice(answer.subject, answer.content["answer"]))
