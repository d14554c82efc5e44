"""A finding of the check as one sentence."""

from __future__ import annotations

from webapp.prescribing.changes import day_text
from webapp.prescribing.tested import TESTED_RULES
from webapp.stimulation.finding import Finding
from webapp.stimulation.limits import ELECTRICAL_RULES
from webapp.stimulation.units import number_text, three_digits
from webapp.translations import Translate

WORKED_OUT = ELECTRICAL_RULES | {"more_work_than_rest"}


def finding_text(finding: Finding, field: str, t: Translate) -> str:
    """Writes a finding about a field, which is named as its reader knows it: by its path, or by the form's label."""
    step = finding.params.get("step", "–")
    steps = "" if step == "–" else t("finding.in_steps", step=step)
    more = {"steps": steps, "field": field}
    if finding.field == "first_day":
        more |= {"value": day_text(str(finding.value), t), "limit": day_text(str(finding.limit), t)}
    if finding.rule in TESTED_RULES:
        more |= {"value": day_text(str(finding.value), t)}
    if region := finding.params.get("region_key"):
        more["region"] = t(str(region))
    if ceiling := finding.params.get("ceiling"):
        more["channel"] = t("finding.channel_at_ceiling", channel=finding.params["channel"], ceiling=ceiling)
    return t(f"finding.{finding.rule}", **{**finding.params, **_rounded(finding), **more})


def _rounded(finding: Finding) -> dict[str, str]:
    """Rounds what was worked out as the numbers beside the settings are; not where that would hide the excess."""
    value, limit = finding.value, finding.limit
    if finding.rule not in WORKED_OUT or not isinstance(value, (int, float)) or not isinstance(limit, (int, float)):
        return {}
    text = number_text(round(value, 1)) if finding.rule == "more_work_than_rest" else three_digits(value)
    return {"value": text} if (float(text) > limit) == (value > limit) else {}
