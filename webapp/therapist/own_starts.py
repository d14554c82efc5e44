"""Starting points while a plan is written: what one changed, in words; the clinic's own are kept and removed again."""

from __future__ import annotations

from webapp.guidance.starting_points import starting_points
from webapp.prescribing.drafting import CHOICES, CONVENTIONS, NUMBERS, Typed, text
from webapp.prescribing.starting import kept_settings
from webapp.serving import audit, database, now_ms, signed_in, write
from webapp.serving import texts as translate
from webapp.storage import starting_points as kept
from webapp.translations import Translate

MOST_NAME = 80
UNITS = {"frequency_hz": "Hz", "pulse_width_us": "µs", "session_min": "min", "ramp_up_s": "s", "hold_s": "s",
         "ramp_down_s": "s", "rest_s": "s", "delay_s": "s"}  # fmt: skip


def what_changed(action: str, before: Typed, after: Typed, t: Translate) -> str:
    """Says which settings a starting point changed, old and new; empty for other actions."""
    name, _, rest = action.partition(":")
    n, _, start = rest.partition(":")
    if name != "start_from" or not n.isdigit():
        return ""
    changed = [_changed(field, old, new, t) for field in (*NUMBERS, *CHOICES, *CONVENTIONS)
               if (new := text(after, f"ex{n}.{field}")) != (old := text(before, f"ex{n}.{field}"))]
    title = start_title(start, t)
    if not changed:
        return t("starting.used_same", name=title)
    return t("starting.used", name=title, changes="; ".join(changed))


def _changed(field: str, old: str, new: str, t: Translate) -> str:
    known = field in CHOICES or field in CONVENTIONS
    said = [(t(f"choice.{field}.{value}") if known else value) if value else "–" for value in (old, new)]
    return t("starting.changed", name=t(f"builder.field.{field}").lower(), old=said[0],
             new=f"{said[1]} {UNITS.get(field, '')}".strip())


def start_title(id_: str, t: Translate) -> str:
    """Names a starting point: one of the guidance by aim and part, the clinic's own by its name."""
    if found := starting_points().get(id_):
        return f"{t(f'aim.{found.aim}')}: {t(f'starting.{found.id}')}"
    return next((one.name for one in kept.list_kept(database()) if f"own:{one.id}" == id_), "")


def tend_starts(action: str, draft: Typed) -> str:
    """Keeps an exercise's settings as a starting point, or removes one; gives what to say, empty for other actions."""
    name, _, rest = action.partition(":")
    if name == "start_forget" and rest.isdigit():
        with write() as db:
            kept.remove(db, int(rest), now_ms())
            audit(db, "starting_point_removed", starting_point=int(rest))
    if name != "start_keep" or not rest.isdigit():
        return ""
    title = text(draft, f"ex{rest}.start_name")[:MOST_NAME]
    if not title:
        return translate()("starting.nameless")
    with write() as db:
        made = kept.add(db, title, "", kept_settings(draft, int(rest)), user_id=signed_in().id, now_ms=now_ms())
        audit(db, "starting_point_kept", starting_point=made)
    draft[f"ex{rest}.start_name"] = ""
    return translate()("starting.kept", name=title)
