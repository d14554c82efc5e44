"""Makes the demo practice through the functions of a real one, with invented people and a clock of their own."""

from __future__ import annotations

import json
import secrets
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from webapp import passwords, sealing
from webapp.client.activation import Asking, by_link
from webapp.client.packing import make_pack
from webapp.demo.cases import CASES, Case, Issue
from webapp.demo.clinic import LINK_FOR, PASSWORD, PEOPLE, machine_time_zone, saltmarsh_lane
from webapp.demo.diary import Diary, Written, handed_in, moved_to_planned_days
from webapp.demo.goals import add_goals
from webapp.demo.programmes import write_exercise
from webapp.demo.units import ONE_CHANNEL, TWO_CHANNELS, Raw
from webapp.demo.visits import before_it_goes_home
from webapp.formats.log_record import FORMAT, canonical
from webapp.formats.plan_json import read_settings
from webapp.intake import take_in
from webapp.jobs import Progress, Worker
from webapp.practice.attention import NEEDS_ANSWER, Contact, reasons
from webapp.practice.schedule import PlanVersion, read_version
from webapp.practice.session import Entry, read_log
from webapp.prescribing.issue import issue_plan
from webapp.settings import Settings, load_settings, release
from webapp.stimulation.timetable import build_timetable
from webapp.storage import answers, clients, clinic, devices, links, packs, plans, records, stimulators, users
from webapp.storage.clinic import Clinic
from webapp.storage.database import Db, Store
from webapp.storage.devices import Device
from webapp.translations import Translate, translator

MARK = "demo.json"
DAY_MS = 86_400_000
SEED = 1729
Say = Callable[[str], None]


class DemoError(Exception):
    """A demo that is not made; `key` names its text."""

    def __init__(self, key: str, **params: object) -> None:
        super().__init__(key)
        self.key, self.params = key, params


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What every client of the demo shares."""

    db: Db
    store: Store
    settings: Settings
    now_ms: int
    zone: ZoneInfo
    therapists: dict[str, int]
    t: Translate

    @property
    def now(self) -> datetime:
        return datetime.fromtimestamp(self.now_ms / 1000, UTC).astimezone(self.zone)

    @property
    def today(self) -> date:
        return self.now.date()

    def moment_ms(self, days_ago: int, hour: int = 11) -> int:
        """Gives a moment of the clinic's past."""
        local = datetime.combine(self.today - timedelta(days=days_ago), time(hour), self.zone)
        return min(self.now_ms, int(local.timestamp() * 1000))


def demo_is_made(folder: Path) -> date | None:
    """Gives the day on which a finished demo in a folder was made; None where the folder is empty or not there."""
    mark = folder / MARK
    if mark.is_file():
        return date.fromisoformat(json.loads(mark.read_text(encoding="utf-8"))["made_on"])
    if folder.is_dir() and any(folder.iterdir()):
        raise DemoError("demo.not_a_demo", folder=folder)
    return None


def remove_demo(folder: Path) -> None:
    """Removes a demo, and nothing but a demo."""
    if demo_is_made(folder):
        shutil.rmtree(folder)


def make_demo(folder: Path, now_ms: int, say: Say) -> None:
    """Makes the practice beside its folder and moves it there when it is whole: a demo that was cut off leaves none."""
    making = folder.with_name(f".{folder.name}.making")
    shutil.rmtree(making, ignore_errors=True)
    making.mkdir(parents=True)
    (making / "secret_key").write_text(secrets.token_hex(32), encoding="utf-8")
    (making / "secret_key").chmod(0o600)
    settings, t = load_settings(making), translator("en")
    store = Store(settings.database_path)
    db = store.connect()
    try:
        scene = _scene(db, store, settings, now_ms, t)
        ids = [_add_client(scene, case) for case in CASES]
        _pack(scene, say)
        for case, client_id in zip(CASES, ids, strict=True):
            say(t("demo.practising", name=case.first_name))
            _practise(scene, case, client_id)
        with store.write(db):
            add_goals(db, next(iter(scene.therapists.values())), scene.today, scene.moment_ms)
    finally:
        db.close()
        store.close()
    (making / MARK).write_text(json.dumps({"made_on": scene.today.isoformat()}), encoding="utf-8")
    if folder.is_dir():
        folder.rmdir()
    making.rename(folder)


def _scene(db: Db, store: Store, settings: Settings, now_ms: int, t: Translate) -> Scene:
    zone = machine_time_zone()
    password_hash = passwords.hash_password(settings, PASSWORD)
    with store.write(db):
        clinic.change(db, saltmarsh_lane(zone))
        therapists = {
            login: users.add(db, login=login, name=name, role=role, password_hash=password_hash,
                             created_ms=now_ms - 100 * DAY_MS)
            for login, name, role in PEOPLE}
        for unit in (TWO_CHANNELS, ONE_CHANNEL):
            stimulators.add(db, unit, now_ms - 100 * DAY_MS)
    return Scene(db=db, store=store, settings=settings, now_ms=now_ms, zone=ZoneInfo(zone), therapists=therapists, t=t)


def _add_client(scene: Scene, case: Case) -> int:
    with scene.store.write(scene.db) as db:
        client_id = clients.add(
            db, code=case.code, first_name=case.first_name, working_side=case.working_side, language="en",
            details=clients.ClientDetails(helper_name=case.helper, notes=case.story),
            therapist_id=scene.therapists[case.therapist], created_ms=scene.moment_ms(case.issues[0].days_ago + 2))
        for issue in case.issues:
            at_ms = scene.moment_ms(issue.days_ago)
            issued = issued_plan(case, issue, clinic.read(db), scene.today, scene.t)
            before_it_goes_home(db, client_id, case, issued, scene.therapists, at_ms)
            issue_plan(db, client_id, issued, user_id=scene.therapists[case.therapist], now_ms=at_ms,
                       note="; ".join(issue.words) or scene.t("issue.why_first"))
    return client_id


def issued_plan(case: Case, issue: Issue, home: Clinic, today: date, t: Translate) -> Raw:
    """Writes the plan as it was issued that day."""
    version, day = case.issues.index(issue) + 1, (today - timedelta(days=issue.days_ago)).isoformat()
    side = {"left": "right", "right": "left"}[case.working_side]
    changes = [{"version": version, "words": list(issue.words), "unit_changed": version > 1,
                "unit_steps": list(issue.words)}] if issue.words else []
    return {
        "format": "wattlebird.issued/1", "client_code": case.code, "plan": 1, "version": version, "language": "en",
        "issued_on": day, "first_day": day,
        "last_day": (today + timedelta(days=case.last_day_in)).isoformat(), "working_side": case.working_side,
        "least_hours_between": 3, "most_per_day": sum(len(p.slots) for p in issue.exercises),
        "time_zone": home.time_zone,
        "asks": {"pain": "each", "effort": "each", "help": "each", "note": "each", "skin_later": "each"},
        "exercises": [write_exercise(p, n, side, case.working_side, t)
                      for n, p in enumerate(issue.exercises, 1)],
        "cautions": list(home.cautions), "emergency": home.emergency,
        "call": {"who": home.call_who, "phone": home.call_phone, "when": home.call_when, "skin": home.call_skin},
        "clinic": {"name": home.name, "lines": list(home.lines)}, "changes": changes}


def _pack(scene: Scene, say: Say) -> None:
    """Makes the pack of each client's newest plan, by the queue; older versions are on no phone any more."""
    newest = {p.id for p in plans.live(scene.db, scene.today.isoformat())}
    made = 0

    def pack(db: Db, plan_id: int, progress: Progress) -> None:
        nonlocal made
        if plan_id in newest:
            made += 1
            say(scene.t("demo.packing", n=made, of=len(newest)))
            make_pack(db, plan_id, lambda _done, _of: None, store=scene.store, settings=scene.settings,
                      now_ms=lambda: scene.now_ms)

    worker = Worker(scene.store, {"make_pack": pack}, lambda: scene.now_ms)
    while worker.do_one():
        pass
    if failed := [p for p in newest if not _has_pack(scene.db, p)]:
        raise DemoError("demo.pack_failed", n=len(failed))


def _has_pack(db: Db, plan_id: int) -> bool:
    return packs.for_plan(db, plan_id, release()) is not None


def _practise(scene: Scene, case: Case, client_id: int) -> None:
    """Lets a client's phone in, writes its diary and hands it in day by day, as its own syncs would have."""
    if not case.opened:
        return
    history = [p.issued for p in reversed(plans.history(scene.db, client_id))]
    versions = [read_version(issued) for issued in history]
    case = moved_to_planned_days(case, versions, scene.today)
    written = write_diary(case, history, scene.today, scene.now)
    phone = _let_in(scene, case, client_id, case.issues[0].days_ago)
    first_n = len(written)
    if case.new_phone is not None:
        first_n = sum(1 for w in written if (scene.today - w.at.date()).days > case.new_phone)
    _hand_in(scene, case, phone, written, range(first_n))
    if case.new_phone is not None:
        other = _let_in(scene, case, client_id, case.new_phone)
        with scene.store.write(scene.db) as db:
            devices.revoke(db, phone.device, scene.moment_ms(case.new_phone))
        _hand_in(scene, case, other, written, range(first_n, len(written)))
    _answer(scene, case, client_id, versions)


def write_diary(case: Case, history: Sequence[Mapping[str, Any]], today: date, now: datetime) -> list[Written]:
    """Writes what the phone of a client recorded, from the versions of the plan, oldest first; the same each time."""
    exercises = {(issued["version"], e["exercise"]): e["settings"] for issued in history for e in issued["exercises"]}
    contractions = {key: build_timetable(read_settings(settings)).contractions for key, settings in exercises.items()}
    strengths = {key: tuple(c.get("intensity_ma", c.get("intensity_level")) for c in settings["channels"])
                 for key, settings in exercises.items()}
    return Diary(case=case, versions=[read_version(issued) for issued in history], contractions=contractions,
                 strengths=strengths, today=today, now=now, chance=Random(f"{SEED} {case.code}")).write()


def _let_in(scene: Scene, case: Case, client_id: int, days_ago: int) -> Device:
    at_ms = scene.moment_ms(days_ago)
    with scene.store.write(scene.db) as db:
        link, _token = new_link(db, client_id, scene.therapists[case.therapist], at_ms)
        asking = Asking(kind=scene.t("demo.phone_kind"), at_ms=at_ms)
        return by_link(db, links.read(db, link), asking).device


def new_link(db: Db, client_id: int, user_id: int, now_ms: int) -> tuple[int, str]:
    """Makes a link for two phones and gives its number and its token; only the token's hash is kept."""
    token, typed = sealing.new_token(), secrets.token_hex(5).upper()
    link = links.insert(db, client_id=client_id, token_sha256=sealing.sha256_hex(token),
                        typed_sha256=sealing.sha256_hex(typed), user_id=user_id, now_ms=now_ms,
                        ends_ms=now_ms + 30 * DAY_MS, uses=2)
    return link, token


def _hand_in(scene: Scene, case: Case, phone: Device, written: list[Written], numbers: range) -> None:
    """Numbers the records of one phone and takes them in, those of one moment together."""
    seq = {n: place for place, n in enumerate(numbers, 1)}
    came: dict[datetime, list[bytes]] = {}
    for at, n in handed_in(case, written, scene.today, scene.now):
        if n in seq:
            came.setdefault(at, []).append(_bytes(phone, written[n], seq[n], seq))
    for at, contents in sorted(came.items()):
        with scene.store.write(scene.db) as db:
            at_ms = int(at.timestamp() * 1000)
            take_in(db, phone, contents, "sync", phone.handle, at_ms)
            devices.saw(db, phone.device, at_ms)
    if case.silent_since is None and numbers.stop == len(written):
        with scene.store.write(scene.db) as db:  # a phone asks for news each morning, with or without records
            devices.saw(db, phone.device, min(scene.now_ms, scene.moment_ms(0, 8)))


def _bytes(phone: Device, record: Written, seq: int, numbers: dict[int, int]) -> bytes:
    named = {} if record.refers_to is None else {"session_seq": numbers.get(record.refers_to, 0)}
    return canonical({"format": FORMAT, "device": phone.device, "seq": seq, "kind": record.kind, **record.head,
                      **record.fields, **named})


def _answer(scene: Scene, case: Case, client_id: int, versions: list[PlanVersion]) -> None:
    """Notes what the therapist answered."""
    entries = [Entry(device=r.device, seq=r.seq, kind=r.kind, at_min=r.at_min, utc_q=r.utc_q,
                     fields=json.loads(r.content), aside=r.aside, late=r.late)
               for r in records.of_client(scene.db, client_id)]
    found = reasons(read_log(entries), versions, Contact(phones_n=1, last_day=scene.today), frozenset(), scene.today)
    for reason in found:
        ago = (scene.today - reason.day).days if reason.day else 0
        near = next((note for days, note in case.answered.items() if 0 <= days - ago <= 1), None)
        if reason.rule in NEEDS_ANSWER and reason.key and near:
            with scene.store.write(scene.db) as db:
                for device, seq, rule in reason.answers:
                    answers.add(db, client_id=client_id, device=device, seq=seq, rule=rule, note=near,
                                answered_ms=scene.moment_ms(max(0, ago - 1), 9),
                                answered_by=scene.therapists[case.therapist])


def client_link(settings: Settings, now_ms: int) -> str:
    """Makes a fresh link of the demo's first client and gives its address: tokens are kept as hashes only."""
    store = Store(settings.database_path)
    db = store.connect()
    try:
        client = clients.read_by_code(db, LINK_FOR)
        if client is None:
            raise DemoError("demo.not_a_demo", folder=settings.data_dir)
        with store.write(db):
            _link, token = new_link(db, client.id, client.therapist_id or 1, now_ms)
    finally:
        db.close()
        store.close()
    return f"{settings.public_url}/join#{token}"
