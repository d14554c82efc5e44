"""The training line of a report: the teach-back visits that were recorded, and nothing that was not."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from webapp.exports.report import Part
from webapp.practice.session import local_date
from webapp.prescribing.teach_back import MARKS, TEACH_BACK
from webapp.storage import assessments
from webapp.storage.database import Db
from webapp.therapist.report_facts import Facts, full_date

VISITS_SHOWN = 4  # the first page stays one page


def teach_back_days(db: Db, client_id: int, zone: ZoneInfo) -> dict[date, bool]:
    """Gives the days on which something was marked, the earliest first, each with whether it was with the unit."""
    found: dict[date, bool] = {}
    for visit in reversed(assessments.of_client(db, client_id, TEACH_BACK)):
        if any(step["mark"] in MARKS for step in visit.content["steps"]):
            day = local_date(visit.made_ms, zone)
            found[day] = found.get(day, False) or bool(visit.content["with_unit"])
    return found


def training_part(facts: Facts) -> Part:
    """Says what the therapist wrote, and on which days up to the report's last the client showed it back."""
    t = facts.t
    days = [t("report.taught_with" if with_unit else "report.taught_dry", day=full_date(t, day))
            for day, with_unit in sorted(facts.taught.items()) if day <= facts.chosen.last]
    earlier = len(days) - VISITS_SHOWN
    line = t("report.taught", days=", ".join(days[-VISITS_SHOWN:])) if days else t("report.not_taught")
    more = (t("report.taught_earlier", n=earlier),) if earlier > 0 else ()
    return Part(name="training", heading=t("report.part.training"),
                said=tuple(filter(None, [facts.chosen.training, line, *more])))
