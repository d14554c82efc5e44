"""One thing that `check` found: how grave, which rule, the value, the limit and where the limit comes from."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from webapp.stimulation.units import number_text

STOP, CAUTION, NOTE = "stop", "caution", "note"
SEVERITIES = (STOP, CAUTION, NOTE)

Value = float | str | None
Limit = float | str | tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A finding. Its text is `finding.<rule>` (and `finding.<rule>.short`) with `params`, which are ready to be shown.

    `field` is the path of the setting it is about, `source` an id of `guidance/sources.toml`. `params["nearest"]` holds
    the nearest values that would do, below and above, where there are any.
    """

    severity: str
    rule: str
    value: Value
    limit: Limit
    source: str
    field: str
    params: Mapping[str, object] = dataclasses.field(default_factory=dict)

    @property
    def nearest(self) -> tuple[float | str, ...]:
        """The nearest values that would do."""
        found = self.params.get("nearest", ())
        return found if isinstance(found, tuple) else ()


def shown(value: Value | Limit) -> str:
    """Writes a value or a limit for a person."""
    if isinstance(value, tuple):
        return f"{number_text(value[0])}–{number_text(value[1])}"
    if isinstance(value, str):
        return value.replace("_", " ")
    return "" if value is None else number_text(value)


def make_finding(
    severity: str,
    rule: str,
    *,
    source: str,
    field: str,
    value: Value = None,
    limit: Limit = None,
    nearest: tuple[float | str, ...] = (),
    **params: object,
) -> Finding:
    """Makes a finding whose params hold the value, the limit and the nearest values as texts."""
    texts: dict[str, object] = {"value": shown(value), "limit": shown(limit), **params}
    if nearest:
        texts["nearest"] = nearest
    texts["nearest_text"] = " / ".join(shown(one) for one in nearest) or "–"
    return Finding(severity=severity, rule=rule, value=value, limit=limit, source=source, field=field, params=texts)
