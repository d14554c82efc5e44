"""The schema's history: small named steps, only ever added to. Every table is STRICT."""

from __future__ import annotations

import secrets

from sqlite_utils import Database, Migrations

migrations = Migrations("wattlebird")


@migrations()
def m001_practice(db: Database) -> None:
    """People who sign in, the clinic, its clients and stimulators."""
    db.executescript("""
    CREATE TABLE clinic (
      id INTEGER PRIMARY KEY CHECK (id = 1), name TEXT NOT NULL, details TEXT NOT NULL, time_zone TEXT NOT NULL,
      store_epoch TEXT NOT NULL) STRICT;
    CREATE TABLE users (
      id INTEGER PRIMARY KEY, login TEXT NOT NULL UNIQUE COLLATE NOCASE, name TEXT NOT NULL,
      role TEXT NOT NULL CHECK (role IN ('therapist','lead','administrator')), password_hash TEXT NOT NULL,
      created_ms INTEGER NOT NULL, disabled_ms INTEGER) STRICT;
    CREATE TABLE sign_in_failures (
      who TEXT PRIMARY KEY, failures INTEGER NOT NULL, wait_until_ms INTEGER NOT NULL) STRICT;
    CREATE TABLE sessions (
      id_sha256 TEXT PRIMARY KEY, user_id INTEGER REFERENCES users(id), content TEXT NOT NULL,
      created_ms INTEGER NOT NULL, seen_ms INTEGER NOT NULL, ends_ms INTEGER NOT NULL) STRICT;
    CREATE TABLE saved_forms (
      id TEXT PRIMARY KEY, login TEXT NOT NULL COLLATE NOCASE, path TEXT NOT NULL, content TEXT NOT NULL,
        saved_ms INTEGER NOT NULL) STRICT;
    CREATE TABLE clients (
      id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE COLLATE NOCASE, first_name TEXT NOT NULL,
      working_side TEXT NOT NULL CHECK (working_side IN ('left','right','both')), language TEXT NOT NULL,
      details TEXT NOT NULL, therapist_id INTEGER REFERENCES users(id), created_ms INTEGER NOT NULL,
        archived_ms INTEGER) STRICT;
    CREATE TABLE stimulators (
      id INTEGER PRIMARY KEY, name TEXT NOT NULL, description TEXT NOT NULL, created_ms INTEGER NOT NULL,
      changed_ms INTEGER NOT NULL, archived_ms INTEGER) STRICT;
    CREATE TABLE audit (
      id INTEGER PRIMARY KEY, at_ms INTEGER NOT NULL, user_id INTEGER, action TEXT NOT NULL, client_id INTEGER,
      detail TEXT NOT NULL, hash TEXT NOT NULL) STRICT;
    CREATE TRIGGER audit_keeps BEFORE UPDATE ON audit BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
    CREATE TRIGGER audit_stays BEFORE DELETE ON audit BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
    """)
    db.execute("INSERT INTO clinic VALUES (1, '', '{}', 'UTC', ?)", [secrets.token_hex(8)])


@migrations()
def m002_plans(db: Database) -> None:
    """Drafts, issued versions, the packs made of them, and the jobs that make them."""
    db.executescript("""
    CREATE TABLE drafts (
      client_id INTEGER PRIMARY KEY REFERENCES clients(id), content TEXT NOT NULL, saved_ms INTEGER NOT NULL,
      saved_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
    CREATE TABLE plans (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), version INTEGER NOT NULL,
      issued TEXT NOT NULL, note TEXT NOT NULL, issued_ms INTEGER NOT NULL,
        issued_by INTEGER NOT NULL REFERENCES users(id),
      UNIQUE (client_id, version)) STRICT;
    CREATE TRIGGER plans_keep BEFORE UPDATE ON plans BEGIN SELECT RAISE(ABORT, 'an issued plan never changes'); END;
    CREATE TRIGGER plans_stay BEFORE DELETE ON plans BEGIN SELECT RAISE(ABORT, 'an issued plan stays'); END;
    CREATE TABLE packs (
      plan_id INTEGER NOT NULL REFERENCES plans(id), release TEXT NOT NULL, pack_id TEXT NOT NULL,
        manifest TEXT NOT NULL,
      made_ms INTEGER NOT NULL, PRIMARY KEY (plan_id, release)) STRICT;
    CREATE INDEX packs_by_id ON packs (pack_id);
    CREATE TABLE jobs (
      id INTEGER PRIMARY KEY, kind TEXT NOT NULL, subject_id INTEGER NOT NULL, state TEXT NOT NULL
        CHECK (state IN ('waiting','running','done','failed')),
      done_n INTEGER NOT NULL, of_n INTEGER NOT NULL, message TEXT NOT NULL, made_ms INTEGER NOT NULL,
        ended_ms INTEGER) STRICT;
    """)


@migrations()
def m003_phones(db: Database) -> None:
    """Links, the devices that were let in by them, and what those devices sent home."""
    db.executescript("""
    CREATE TABLE links (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), token_sha256 TEXT NOT NULL UNIQUE,
      typed_sha256 TEXT NOT NULL UNIQUE, made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id),
      ends_ms INTEGER NOT NULL, uses_left INTEGER NOT NULL, withdrawn_ms INTEGER) STRICT;
    CREATE TABLE devices (
      device TEXT PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), link_id INTEGER REFERENCES links(id),
      handle TEXT NOT NULL UNIQUE, device_key BLOB NOT NULL, cookie_sha256 TEXT NOT NULL, rejoin_sha256 TEXT,
      rejoin_ends_ms INTEGER, kind TEXT NOT NULL, made_ms INTEGER NOT NULL, seen_ms INTEGER, pack_id TEXT,
        revoked_ms INTEGER) STRICT;
    CREATE INDEX devices_by_client ON devices (client_id);
    CREATE TABLE tries (
      who TEXT NOT NULL, minute INTEGER NOT NULL, tries INTEGER NOT NULL, PRIMARY KEY (who, minute)) STRICT;
    CREATE TABLE records (
      id INTEGER PRIMARY KEY, device TEXT NOT NULL REFERENCES devices(device),
        client_id INTEGER NOT NULL REFERENCES clients(id),
      seq INTEGER NOT NULL, kind TEXT NOT NULL, at_min INTEGER NOT NULL, utc_q INTEGER NOT NULL,
        content BLOB NOT NULL, content_sha256 BLOB NOT NULL,
      road TEXT NOT NULL CHECK (road IN ('sync','code','file','paper')), store TEXT NOT NULL,
        received_ms INTEGER NOT NULL,
      aside INTEGER NOT NULL CHECK (aside IN (0, 1)), late INTEGER NOT NULL CHECK (late IN (0, 1)),
      UNIQUE (device, seq, content_sha256)) STRICT;
    CREATE UNIQUE INDEX records_key ON records (device, seq) WHERE aside = 0;
    CREATE INDEX records_by_client ON records (client_id, at_min);
    CREATE TRIGGER records_keep BEFORE UPDATE ON records BEGIN SELECT RAISE(ABORT, 'a record never changes'); END;
    CREATE TRIGGER records_stay BEFORE DELETE ON records BEGIN SELECT RAISE(ABORT, 'a record stays'); END;
    CREATE TABLE backups (id INTEGER PRIMARY KEY, at_ms INTEGER NOT NULL, sha256 TEXT NOT NULL) STRICT;
    """)


@migrations()
def m004_first_passwords(db: Database) -> None:
    """The links with which a person chooses a password: one use, a short life, only the hash kept."""
    db.executescript("""
    CREATE TABLE first_passwords (
      token_sha256 TEXT PRIMARY KEY, user_id INTEGER NOT NULL REFERENCES users(id), ends_ms INTEGER NOT NULL) STRICT;
    CREATE INDEX saved_forms_by_login ON saved_forms (login, path);
    """)


@migrations()
def m005_answers(db: Database) -> None:
    """What a therapist answered: a finding in a record stays on top of her list until then."""
    db.executescript("""
    CREATE TABLE answers (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
        device TEXT NOT NULL REFERENCES devices(device),
      seq INTEGER NOT NULL, rule TEXT NOT NULL, note TEXT NOT NULL, answered_ms INTEGER NOT NULL,
      answered_by INTEGER NOT NULL REFERENCES users(id), UNIQUE (device, seq, rule)) STRICT;
    CREATE INDEX answers_by_client ON answers (client_id);
    """)


@migrations()
def m006_goals_reports_erasure(db: Database) -> None:
    """Goals, measures, reports that left the house; and the one way in which what never changes may be erased.

    Records and plans can be deleted only while an erasure of their client is under way: begun and not done, which is so
    inside one transaction only.
    """
    db.executescript("""
    CREATE TABLE goals (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), words TEXT NOT NULL,
      levels TEXT NOT NULL, importance INTEGER NOT NULL CHECK (importance BETWEEN 0 AND 3),
      difficulty INTEGER NOT NULL CHECK (difficulty BETWEEN 0 AND 3),
      baseline INTEGER NOT NULL CHECK (baseline BETWEEN -2 AND 2), set_on TEXT NOT NULL, set_aside TEXT NOT NULL,
      made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
    CREATE INDEX goals_by_client ON goals (client_id);
    CREATE TABLE goal_reviews (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
      goal_id INTEGER NOT NULL REFERENCES goals(id), day TEXT NOT NULL,
      level INTEGER NOT NULL CHECK (level BETWEEN -2 AND 2), note TEXT NOT NULL, noted_ms INTEGER NOT NULL,
      noted_by INTEGER NOT NULL REFERENCES users(id), withdrawn_ms INTEGER) STRICT;
    CREATE INDEX goal_reviews_by_client ON goal_reviews (client_id);
    CREATE TABLE measures (
      id INTEGER PRIMARY KEY, name TEXT NOT NULL, unit TEXT NOT NULL,
      direction TEXT NOT NULL CHECK (direction IN ('more','less')), smallest_change REAL, source TEXT NOT NULL,
      made_ms INTEGER NOT NULL, archived_ms INTEGER) STRICT;
    CREATE TABLE readings (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
      measure_id INTEGER NOT NULL REFERENCES measures(id), day TEXT NOT NULL, value REAL NOT NULL, note TEXT NOT NULL,
      noted_ms INTEGER NOT NULL, noted_by INTEGER NOT NULL REFERENCES users(id), withdrawn_ms INTEGER) STRICT;
    CREATE INDEX readings_by_client ON readings (client_id);
    CREATE TABLE reports (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), chosen TEXT NOT NULL,
      content TEXT NOT NULL, made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
    CREATE INDEX reports_by_client ON reports (client_id);
    CREATE TRIGGER reports_keep BEFORE UPDATE ON reports BEGIN SELECT RAISE(ABORT, 'a report never changes'); END;
    CREATE TABLE erasures (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL, asked_ms INTEGER NOT NULL, asked_by INTEGER NOT NULL,
      begun_ms INTEGER, done_ms INTEGER, done_by INTEGER) STRICT;
    DROP TRIGGER plans_stay;
    DROP TRIGGER records_stay;
    CREATE TRIGGER plans_stay BEFORE DELETE ON plans WHEN NOT EXISTS (
      SELECT 1 FROM erasures WHERE client_id = OLD.client_id AND begun_ms IS NOT NULL AND done_ms IS NULL)
      BEGIN SELECT RAISE(ABORT, 'an issued plan stays'); END;
    CREATE TRIGGER records_stay BEFORE DELETE ON records WHEN NOT EXISTS (
      SELECT 1 FROM erasures WHERE client_id = OLD.client_id AND begun_ms IS NOT NULL AND done_ms IS NULL)
      BEGIN SELECT RAISE(ABORT, 'a record stays'); END;
    """)


@migrations()
def m007_assessments(db: Database) -> None:
    """What was found out and decided about a client before a plan goes home: screening, overrides, teach-back."""
    db.executescript("""
    CREATE TABLE assessments (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), kind TEXT NOT NULL,
      subject TEXT NOT NULL, content TEXT NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
    CREATE INDEX assessments_by_client ON assessments (client_id, kind, subject);
    CREATE TRIGGER assessments_keep BEFORE UPDATE ON assessments
      BEGIN SELECT RAISE(ABORT, 'an assessment never changes'); END;
    CREATE TRIGGER assessments_stay BEFORE DELETE ON assessments WHEN NOT EXISTS (
      SELECT 1 FROM erasures WHERE client_id = OLD.client_id AND begun_ms IS NOT NULL AND done_ms IS NULL)
      BEGIN SELECT RAISE(ABORT, 'an assessment stays'); END;
    """)


@migrations()
def m008_attention(db: Database) -> None:
    """The next step of an answer; rests that a therapist ended; each client's place in the caseload, worked out."""
    db.executescript("""
    ALTER TABLE answers ADD COLUMN next_step TEXT NOT NULL DEFAULT '';
    CREATE TABLE rests_ended (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
      device TEXT NOT NULL REFERENCES devices(device), through INTEGER NOT NULL, ended_ms INTEGER NOT NULL,
      ended_by INTEGER NOT NULL REFERENCES users(id), UNIQUE (device, through)) STRICT;
    CREATE INDEX rests_ended_by_client ON rests_ended (client_id);
    CREATE TRIGGER rests_ended_keep BEFORE UPDATE ON rests_ended
      BEGIN SELECT RAISE(ABORT, 'that a rest was ended never changes'); END;
    CREATE TABLE caseload_rows (
      client_id INTEGER PRIMARY KEY REFERENCES clients(id) ON DELETE CASCADE, day TEXT NOT NULL, rank INTEGER NOT NULL,
      reasons_n INTEGER NOT NULL, waits INTEGER NOT NULL CHECK (waits IN (0, 1)), content TEXT NOT NULL,
      lasting TEXT NOT NULL, seen_record INTEGER NOT NULL, stale INTEGER NOT NULL CHECK (stale IN (0, 1))) STRICT;
    CREATE INDEX clients_by_therapist ON clients (therapist_id) WHERE archived_ms IS NULL;
    CREATE TRIGGER caseload_record AFTER INSERT ON records
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
    CREATE TRIGGER caseload_answer AFTER INSERT ON answers
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
    CREATE TRIGGER caseload_plan AFTER INSERT ON plans
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
    CREATE TRIGGER caseload_phone AFTER INSERT ON devices
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
    -- a quarter of an hour: no time zone's midnight lies inside one
    CREATE TRIGGER caseload_heard AFTER UPDATE OF seen_ms, revoked_ms ON devices
      WHEN NEW.seen_ms / 900000 IS NOT OLD.seen_ms / 900000 OR NEW.revoked_ms IS NOT OLD.revoked_ms
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
    CREATE TRIGGER caseload_clinic AFTER UPDATE OF details, time_zone ON clinic
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE stale = 0; END;
    """)


@migrations()
def m009_recordings(db: Database) -> None:
    """Cues that a therapist recorded for a client, levelled, by the hash that plans name them with."""
    db.executescript("""
    CREATE TABLE recordings (
      client_id INTEGER NOT NULL REFERENCES clients(id), sha256 TEXT NOT NULL, said TEXT NOT NULL, wav BLOB NOT NULL,
      dur_ms INTEGER NOT NULL, made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id),
      PRIMARY KEY (client_id, sha256)) STRICT;
    """)


@migrations()
def m010_photos_equipment_pauses(db: Database) -> None:
    """Photos of pads; the clinic's own starting points; a client's equipment; agreed days off."""
    db.executescript("""
    CREATE TABLE photos (
      client_id INTEGER NOT NULL REFERENCES clients(id), sha256 TEXT NOT NULL, jpeg BLOB NOT NULL,
      width INTEGER NOT NULL, height INTEGER NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id), PRIMARY KEY (client_id, sha256)) STRICT;
    CREATE TABLE starting_points (
      id INTEGER PRIMARY KEY, name TEXT NOT NULL, aim TEXT NOT NULL, content TEXT NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id), removed_ms INTEGER) STRICT;
    CREATE TABLE equipment (
      client_id INTEGER PRIMARY KEY REFERENCES clients(id), content TEXT NOT NULL, changed_ms INTEGER NOT NULL,
      changed_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
    CREATE TABLE pauses (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), first_day TEXT NOT NULL,
      last_day TEXT NOT NULL, reason TEXT NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id), removed_ms INTEGER) STRICT;
    CREATE INDEX pauses_by_client ON pauses (client_id);
    """)


@migrations()
def m011_phones_again(db: Database) -> None:
    """The request that let a phone in, so that it may ask twice; the phone that a new one was before."""
    db.executescript("""
    ALTER TABLE devices ADD COLUMN request_sha256 TEXT;
    ALTER TABLE devices ADD COLUMN replaces TEXT;
    CREATE UNIQUE INDEX devices_by_request ON devices (request_sha256) WHERE request_sha256 IS NOT NULL;
    """)


@migrations()
def m012_packs_again(db: Database) -> None:
    """More than one pack of a plan by one release: days off change it, and phones may work with the one before."""
    db.executescript("""
    CREATE TABLE packs_again (
      plan_id INTEGER NOT NULL REFERENCES plans(id), release TEXT NOT NULL, pack_id TEXT NOT NULL,
        manifest TEXT NOT NULL,
      made_ms INTEGER NOT NULL, PRIMARY KEY (plan_id, release, pack_id)) STRICT;
    INSERT INTO packs_again SELECT plan_id, release, pack_id, manifest, made_ms FROM packs;
    DROP TABLE packs;
    ALTER TABLE packs_again RENAME TO packs;
    CREATE INDEX packs_by_id ON packs (pack_id);
    """)


@migrations()
def m013_audit_by_client(db: Database) -> None:
    """What was done about one client, without reading the whole trail: every review asks, and adds a row to it."""
    db.execute("CREATE INDEX audit_by_client ON audit (client_id, action)")


def migrate(db: Database) -> None:
    """Brings a database to the newest schema; a step that fails leaves nothing behind."""
    migrations.apply(db)
