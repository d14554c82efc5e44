"""What a plan takes from the practice: the client, the clinic, its stimulators, the day."""

from __future__ import annotations

from webapp.practice.session import local_date
from webapp.prescribing.drafting import Known
from webapp.prescribing.equipment import sessions_a_set
from webapp.prescribing.tested import Tried, tried_of
from webapp.storage import assessments, clinic, equipment, plans, starting_points, stimulators, users
from webapp.storage.clients import Client
from webapp.storage.database import Db


def read_known(db: Db, client: Client, now_ms: int) -> Known:
    """Reads all that a plan for a client takes from elsewhere, as it is now."""
    home = clinic.read(db)
    return Known(
        client_code=client.code,
        working_side=client.working_side,
        language=client.language,
        time_zone=home.time_zone,
        today=local_date(now_ms, home.zone).isoformat(),
        version=plans.next_version(db, client.id),
        stimulators={str(one.id): one.description for one in stimulators.list_active(db)},
        pads_sessions=sessions_a_set(equipment.read(db, client.id)),
        own_starts={str(one.id): one.content for one in starting_points.list_kept(db)},
        call={"who": home.call_who, "phone": home.call_phone, "when": home.call_when, "skin": home.call_skin},
        emergency=home.emergency,
        clinic_name=home.name,
        clinic_lines=home.lines,
        clinic_cautions=home.cautions,
        tested=_tested(db, client.id),
        tested_days=assessments.screening_days(db),
    )


def _tested(db: Db, client_id: int) -> dict[int, Tried]:
    """Reads whose first trial the newest version has; those before it only where it does not say so itself."""
    last = plans.newest(db, client_id)
    if last is None:
        return {}
    says = all(each.get("tried_on") for each in last.issued["exercises"])
    names = {one.id: one.name for one in users.list_all(db)}
    told = [last] if says else plans.history(db, client_id)
    return tried_of([(one.issued, names.get(one.issued_by, "")) for one in told])
