BEGIN TRANSACTION;
CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
);
INSERT INTO "_sqlite_migrations" VALUES(1,'wattlebird','m001_practice','2026-11-30 14:22:28.875535+00:00');
INSERT INTO "_sqlite_migrations" VALUES(2,'wattlebird','m002_plans','2026-11-30 14:22:28.877143+00:00');
INSERT INTO "_sqlite_migrations" VALUES(3,'wattlebird','m003_phones','2026-11-30 14:22:28.880121+00:00');
INSERT INTO "_sqlite_migrations" VALUES(4,'wattlebird','m004_first_passwords','2026-11-30 14:22:28.880502+00:00');
INSERT INTO "_sqlite_migrations" VALUES(5,'wattlebird','m005_answers','2026-11-30 14:22:28.881161+00:00');
INSERT INTO "_sqlite_migrations" VALUES(6,'wattlebird','m006_goals_reports_erasure','2026-11-30 14:22:28.884675+00:00');
INSERT INTO "_sqlite_migrations" VALUES(7,'wattlebird','m007_assessments','2026-11-30 14:22:28.885610+00:00');
INSERT INTO "_sqlite_migrations" VALUES(8,'wattlebird','m008_attention','2026-11-30 14:22:28.888416+00:00');
INSERT INTO "_sqlite_migrations" VALUES(9,'wattlebird','m009_recordings','2026-11-30 14:22:28.888919+00:00');
INSERT INTO "_sqlite_migrations" VALUES(10,'wattlebird','m010_photos_equipment_pauses','2026-11-30 14:22:28.890234+00:00');
INSERT INTO "_sqlite_migrations" VALUES(11,'wattlebird','m011_phones_again','2026-11-30 14:22:28.891313+00:00');
INSERT INTO "_sqlite_migrations" VALUES(12,'wattlebird','m012_packs_again','2026-11-30 14:22:28.893551+00:00');
INSERT INTO "_sqlite_migrations" VALUES(13,'wattlebird','m013_audit_by_client','2026-11-30 14:22:28.893857+00:00');
CREATE TABLE answers (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
        device TEXT NOT NULL REFERENCES devices(device),
      seq INTEGER NOT NULL, rule TEXT NOT NULL, note TEXT NOT NULL, answered_ms INTEGER NOT NULL,
      answered_by INTEGER NOT NULL REFERENCES users(id), next_step TEXT NOT NULL DEFAULT '', UNIQUE (device, seq, rule)) STRICT;
INSERT INTO "answers" VALUES(1,1,'5a17e0c4b2963f81',2,'skin','rang her',22,1,'');
CREATE TABLE assessments (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), kind TEXT NOT NULL,
      subject TEXT NOT NULL, content TEXT NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
INSERT INTO "assessments" VALUES(1,1,'screening','implant','{"answer": "no"}',23,1);
CREATE TABLE audit (
      id INTEGER PRIMARY KEY, at_ms INTEGER NOT NULL, user_id INTEGER, action TEXT NOT NULL, client_id INTEGER,
      detail TEXT NOT NULL, hash TEXT NOT NULL) STRICT;
INSERT INTO "audit" VALUES(1,1,1,'signed_in',NULL,'{"n": 1}','cca7400e81acd631f99209119be8f5b8613157ae36d2970abe8780bf050a8313');
INSERT INTO "audit" VALUES(2,2,1,'signed_in',NULL,'{"n": 2}','6e15bdda840ade1b244fff8f4554bcf3fd92d3247ca99e2764b8518d5a061745');
CREATE TABLE backups (id INTEGER PRIMARY KEY, at_ms INTEGER NOT NULL, sha256 TEXT NOT NULL) STRICT;
INSERT INTO "backups" VALUES(1,20,'abababababababababababababababababababababababababababababababab');
CREATE TABLE caseload_rows (
      client_id INTEGER PRIMARY KEY REFERENCES clients(id) ON DELETE CASCADE, day TEXT NOT NULL, rank INTEGER NOT NULL,
      reasons_n INTEGER NOT NULL, waits INTEGER NOT NULL CHECK (waits IN (0, 1)), content TEXT NOT NULL,
      lasting TEXT NOT NULL, seen_record INTEGER NOT NULL, stale INTEGER NOT NULL CHECK (stale IN (0, 1))) STRICT;
INSERT INTO "caseload_rows" VALUES(1,'2026-10-05',0,1,1,'[]','[2]',4,0);
CREATE TABLE clients (
      id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE COLLATE NOCASE, first_name TEXT NOT NULL,
      working_side TEXT NOT NULL CHECK (working_side IN ('left','right','both')), language TEXT NOT NULL,
      details TEXT NOT NULL, therapist_id INTEGER REFERENCES users(id), created_ms INTEGER NOT NULL,
        archived_ms INTEGER) STRICT;
INSERT INTO "clients" VALUES(1,'SL-07','Maren','both','en','{"phone": "0100", "notes": "likes mornings"}',1,5,NULL);
INSERT INTO "clients" VALUES(2,'SL-08','Sol','left','en','{}',NULL,6,7);
CREATE TABLE clinic (
      id INTEGER PRIMARY KEY CHECK (id = 1), name TEXT NOT NULL, details TEXT NOT NULL, time_zone TEXT NOT NULL,
      store_epoch TEXT NOT NULL) STRICT;
INSERT INTO "clinic" VALUES(1,'Saltmarsh Lane Rehab','{}','Europe/London','0123456789abcdef');
CREATE TABLE devices (
      device TEXT PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), link_id INTEGER REFERENCES links(id),
      handle TEXT NOT NULL UNIQUE, device_key BLOB NOT NULL, cookie_sha256 TEXT NOT NULL, rejoin_sha256 TEXT,
      rejoin_ends_ms INTEGER, kind TEXT NOT NULL, made_ms INTEGER NOT NULL, seen_ms INTEGER, pack_id TEXT,
        revoked_ms INTEGER, request_sha256 TEXT, replaces TEXT) STRICT;
INSERT INTO "devices" VALUES('5a17e0c4b2963f81',1,1,'hhhhhhhhhhhhhhhh',X'000102030405060708090A0B0C0D0E0F101112131415161718191A1B1C1D1E1F','abababababababababababababababababababababababababababababababab',NULL,NULL,'phone',18,19,'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',NULL,NULL,NULL);
INSERT INTO "devices" VALUES('ffffffffffffffff',1,1,'iiiiiiiiiiiiiiii',X'0000000000000000000000000000000000000000000000000000000000000000','abababababababababababababababababababababababababababababababab',NULL,NULL,'phone',32,NULL,NULL,NULL,'abababababababababababababababababababababababababababababababab','5a17e0c4b2963f81');
CREATE TABLE drafts (
      client_id INTEGER PRIMARY KEY REFERENCES clients(id), content TEXT NOT NULL, saved_ms INTEGER NOT NULL,
      saved_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
INSERT INTO "drafts" VALUES(1,'{"hold_s": "half typed"}',10,1);
CREATE TABLE equipment (
      client_id INTEGER PRIMARY KEY REFERENCES clients(id), content TEXT NOT NULL, changed_ms INTEGER NOT NULL,
      changed_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
INSERT INTO "equipment" VALUES(1,'{"owner": "clinic"}',34,1);
CREATE TABLE erasures (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL, asked_ms INTEGER NOT NULL, asked_by INTEGER NOT NULL,
      begun_ms INTEGER, done_ms INTEGER, done_by INTEGER) STRICT;
INSERT INTO "erasures" VALUES(1,99,29,1,30,30,1);
CREATE TABLE first_passwords (
      token_sha256 TEXT PRIMARY KEY, user_id INTEGER NOT NULL REFERENCES users(id), ends_ms INTEGER NOT NULL) STRICT;
INSERT INTO "first_passwords" VALUES('abababababababababababababababababababababababababababababababab',2,21);
CREATE TABLE goal_reviews (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
      goal_id INTEGER NOT NULL REFERENCES goals(id), day TEXT NOT NULL,
      level INTEGER NOT NULL CHECK (level BETWEEN -2 AND 2), note TEXT NOT NULL, noted_ms INTEGER NOT NULL,
      noted_by INTEGER NOT NULL REFERENCES users(id), withdrawn_ms INTEGER) STRICT;
INSERT INTO "goal_reviews" VALUES(1,1,1,'2026-10-05',1,'both hands',24,1,NULL);
CREATE TABLE goals (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), words TEXT NOT NULL,
      levels TEXT NOT NULL, importance INTEGER NOT NULL CHECK (importance BETWEEN 0 AND 3),
      difficulty INTEGER NOT NULL CHECK (difficulty BETWEEN 0 AND 3),
      baseline INTEGER NOT NULL CHECK (baseline BETWEEN -2 AND 2), set_on TEXT NOT NULL, set_aside TEXT NOT NULL,
      made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
INSERT INTO "goals" VALUES(1,1,'Hold a cup','["a", "b", "c", "d", "e"]',3,2,-1,'2026-09-07','',23,1);
CREATE TABLE jobs (
      id INTEGER PRIMARY KEY, kind TEXT NOT NULL, subject_id INTEGER NOT NULL, state TEXT NOT NULL
        CHECK (state IN ('waiting','running','done','failed')),
      done_n INTEGER NOT NULL, of_n INTEGER NOT NULL, message TEXT NOT NULL, made_ms INTEGER NOT NULL,
        ended_ms INTEGER) STRICT;
INSERT INTO "jobs" VALUES(1,'make_pack',2,'done',4,4,'',14,15);
CREATE TABLE links (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), token_sha256 TEXT NOT NULL UNIQUE,
      typed_sha256 TEXT NOT NULL UNIQUE, made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id),
      ends_ms INTEGER NOT NULL, uses_left INTEGER NOT NULL, withdrawn_ms INTEGER) STRICT;
INSERT INTO "links" VALUES(1,1,'abababababababababababababababababababababababababababababababab','abababababababababababababababababababababababababababababababab',16,1,17,3,NULL);
CREATE TABLE measures (
      id INTEGER PRIMARY KEY, name TEXT NOT NULL, unit TEXT NOT NULL,
      direction TEXT NOT NULL CHECK (direction IN ('more','less')), smallest_change REAL, source TEXT NOT NULL,
      made_ms INTEGER NOT NULL, archived_ms INTEGER) STRICT;
INSERT INTO "measures" VALUES(1,'Grip','kg','more',5.5,'ours',25,NULL);
CREATE TABLE "packs" (
      plan_id INTEGER NOT NULL REFERENCES plans(id), release TEXT NOT NULL, pack_id TEXT NOT NULL,
        manifest TEXT NOT NULL,
      made_ms INTEGER NOT NULL, PRIMARY KEY (plan_id, release, pack_id)) STRICT;
INSERT INTO "packs" VALUES(2,'0.1.0-a','aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa','{}',13);
CREATE TABLE pauses (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), first_day TEXT NOT NULL,
      last_day TEXT NOT NULL, reason TEXT NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id), removed_ms INTEGER) STRICT;
INSERT INTO "pauses" VALUES(1,1,'2026-12-24','2026-12-27','holiday',35,1,36);
CREATE TABLE photos (
      client_id INTEGER NOT NULL REFERENCES clients(id), sha256 TEXT NOT NULL, jpeg BLOB NOT NULL,
      width INTEGER NOT NULL, height INTEGER NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id), PRIMARY KEY (client_id, sha256)) STRICT;
INSERT INTO "photos" VALUES(1,'abababababababababababababababababababababababababababababababab',X'FFD800',3,4,32,1);
CREATE TABLE plans (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), version INTEGER NOT NULL,
      issued TEXT NOT NULL, note TEXT NOT NULL, issued_ms INTEGER NOT NULL,
        issued_by INTEGER NOT NULL REFERENCES users(id),
      UNIQUE (client_id, version)) STRICT;
INSERT INTO "plans" VALUES(1,1,1,'{"version": 1}','“shorter”',11,1);
INSERT INTO "plans" VALUES(2,1,2,'{"version": 2}','“shorter”',12,1);
CREATE TABLE readings (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
      measure_id INTEGER NOT NULL REFERENCES measures(id), day TEXT NOT NULL, value REAL NOT NULL, note TEXT NOT NULL,
      noted_ms INTEGER NOT NULL, noted_by INTEGER NOT NULL REFERENCES users(id), withdrawn_ms INTEGER) STRICT;
INSERT INTO "readings" VALUES(1,1,1,'2026-09-07',7.25,'',26,1,27);
CREATE TABLE recordings (
      client_id INTEGER NOT NULL REFERENCES clients(id), sha256 TEXT NOT NULL, said TEXT NOT NULL, wav BLOB NOT NULL,
      dur_ms INTEGER NOT NULL, made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id),
      PRIMARY KEY (client_id, sha256)) STRICT;
INSERT INTO "recordings" VALUES(1,'abababababababababababababababababababababababababababababababab','Öffnen',X'5249464600',900,31,1);
CREATE TABLE records (
      id INTEGER PRIMARY KEY, device TEXT NOT NULL REFERENCES devices(device),
        client_id INTEGER NOT NULL REFERENCES clients(id),
      seq INTEGER NOT NULL, kind TEXT NOT NULL, at_min INTEGER NOT NULL, utc_q INTEGER NOT NULL,
        content BLOB NOT NULL, content_sha256 BLOB NOT NULL,
      road TEXT NOT NULL CHECK (road IN ('sync','code','file','paper')), store TEXT NOT NULL,
        received_ms INTEGER NOT NULL,
      aside INTEGER NOT NULL CHECK (aside IN (0, 1)), late INTEGER NOT NULL CHECK (late IN (0, 1)),
      UNIQUE (device, seq, content_sha256)) STRICT;
INSERT INTO "records" VALUES(1,'5a17e0c4b2963f81',1,1,'not_today',29925001,4,X'7B2261745F6D696E223A32393932353030312C22646576696365223A2235613137653063346232393633663831222C226578657263697365223A302C22666F726D6174223A22776174746C65626972642E7265636F72642F31222C226B696E64223A226E6F745F746F646179222C226E6F7465223A22222C22736571223A312C227574635F71223A302C22776879223A347D',X'C7EACD7E8D6F0B81E000E0A0E8C8C2BE53D27B3B8A5BBE6295B8D20E32876493','sync','c0ffee',1795500000000,0,0);
INSERT INTO "records" VALUES(2,'5a17e0c4b2963f81',1,2,'not_today',29925002,4,X'7B2261745F6D696E223A32393932353030322C22646576696365223A2235613137653063346232393633663831222C226578657263697365223A302C22666F726D6174223A22776174746C65626972642E7265636F72642F31222C226B696E64223A226E6F745F746F646179222C226E6F7465223A22F09F99825C753030303020656E64222C22736571223A322C227574635F71223A302C22776879223A347D',X'5BD816240770197D943D0AA224141D1F51C3413A4425DE9D44454397B3B101F6','code','c0ffee',1795500000000,0,0);
INSERT INTO "records" VALUES(3,'5a17e0c4b2963f81',1,2,'not_today',29925002,4,X'7B2261745F6D696E223A32393932353030322C22646576696365223A2235613137653063346232393633663831222C226578657263697365223A302C22666F726D6174223A22776174746C65626972642E7265636F72642F31222C226B696E64223A226E6F745F746F646179222C226E6F7465223A22616E6F746865722068616E64222C22736571223A322C227574635F71223A302C22776879223A347D',X'2E854F1AFB344A04A3C2FD824B577FAC7721C78856DE90D9C8431E7E3D49255A','sync','c0ffee',1795500000000,1,1);
INSERT INTO "records" VALUES(4,'5a17e0c4b2963f81',1,4,'not_today',29925004,4,X'7B2261745F6D696E223A32393932353030342C22646576696365223A2235613137653063346232393633663831222C226578657263697365223A302C22666F726D6174223A22776174746C65626972642E7265636F72642F31222C226B696E64223A226E6F745F746F646179222C226E6F7465223A22222C22736571223A342C227574635F71223A302C22776879223A347D',X'407BCDC6037439BA1D6CC3A3EDFF1EF89C7099727DA728D875EA6CD6590F6E82','sync','c0ffee',1795500000000,0,0);
CREATE TABLE reports (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), chosen TEXT NOT NULL,
      content TEXT NOT NULL, made_ms INTEGER NOT NULL, made_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
INSERT INTO "reports" VALUES(1,1,'{}','{}',28,1);
CREATE TABLE rests_ended (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id),
      device TEXT NOT NULL REFERENCES devices(device), through INTEGER NOT NULL, ended_ms INTEGER NOT NULL,
      ended_by INTEGER NOT NULL REFERENCES users(id), UNIQUE (device, through)) STRICT;
INSERT INTO "rests_ended" VALUES(1,1,'5a17e0c4b2963f81',2,31,1);
CREATE TABLE saved_forms (
      id TEXT PRIMARY KEY, login TEXT NOT NULL COLLATE NOCASE, path TEXT NOT NULL, content TEXT NOT NULL,
        saved_ms INTEGER NOT NULL) STRICT;
INSERT INTO "saved_forms" VALUES('abababababababababababababababababababababababababababababababab','ines','/clinic/practice','[["name", "Übersee"]]',4);
CREATE TABLE sessions (
      id_sha256 TEXT PRIMARY KEY, user_id INTEGER REFERENCES users(id), content TEXT NOT NULL,
      created_ms INTEGER NOT NULL, seen_ms INTEGER NOT NULL, ends_ms INTEGER NOT NULL) STRICT;
INSERT INTO "sessions" VALUES('abababababababababababababababababababababababababababababababab',1,'{"user_id": 1}',1,2,3);
CREATE TABLE sign_in_failures (
      who TEXT PRIMARY KEY, failures INTEGER NOT NULL, wait_until_ms INTEGER NOT NULL) STRICT;
INSERT INTO "sign_in_failures" VALUES('abababababababababababababababababababababababababababababababab',3,1795500000000);
CREATE TABLE starting_points (
      id INTEGER PRIMARY KEY, name TEXT NOT NULL, aim TEXT NOT NULL, content TEXT NOT NULL, made_ms INTEGER NOT NULL,
      made_by INTEGER NOT NULL REFERENCES users(id), removed_ms INTEGER) STRICT;
INSERT INTO "starting_points" VALUES(1,'Hand, gentle','relearning','{"hold_s": "5"}',33,1,NULL);
CREATE TABLE stimulators (
      id INTEGER PRIMARY KEY, name TEXT NOT NULL, description TEXT NOT NULL, created_ms INTEGER NOT NULL,
      changed_ms INTEGER NOT NULL, archived_ms INTEGER) STRICT;
INSERT INTO "stimulators" VALUES(1,'Grey box','{"name": "Grey box"}',8,9,NULL);
CREATE TABLE tries (
      who TEXT NOT NULL, minute INTEGER NOT NULL, tries INTEGER NOT NULL, PRIMARY KEY (who, minute)) STRICT;
INSERT INTO "tries" VALUES('abababababababababababababababababababababababababababababababab',29925000,2);
CREATE TABLE users (
      id INTEGER PRIMARY KEY, login TEXT NOT NULL UNIQUE COLLATE NOCASE, name TEXT NOT NULL,
      role TEXT NOT NULL CHECK (role IN ('therapist','lead','administrator')), password_hash TEXT NOT NULL,
      created_ms INTEGER NOT NULL, disabled_ms INTEGER) STRICT;
INSERT INTO "users" VALUES(1,'ines','Ines Wallaroo','lead','h',1,NULL);
INSERT INTO "users" VALUES(2,'Otto','Otto Brindle','therapist','',2,3);
CREATE UNIQUE INDEX "idx__sqlite_migrations_migration_set_name"
    ON "_sqlite_migrations" ("migration_set", "name");
CREATE TRIGGER audit_keeps BEFORE UPDATE ON audit BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
CREATE TRIGGER audit_stays BEFORE DELETE ON audit BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
CREATE TRIGGER plans_keep BEFORE UPDATE ON plans BEGIN SELECT RAISE(ABORT, 'an issued plan never changes'); END;
CREATE INDEX devices_by_client ON devices (client_id);
CREATE UNIQUE INDEX records_key ON records (device, seq) WHERE aside = 0;
CREATE INDEX records_by_client ON records (client_id, at_min);
CREATE TRIGGER records_keep BEFORE UPDATE ON records BEGIN SELECT RAISE(ABORT, 'a record never changes'); END;
CREATE INDEX saved_forms_by_login ON saved_forms (login, path);
CREATE INDEX answers_by_client ON answers (client_id);
CREATE INDEX goals_by_client ON goals (client_id);
CREATE INDEX goal_reviews_by_client ON goal_reviews (client_id);
CREATE INDEX readings_by_client ON readings (client_id);
CREATE INDEX reports_by_client ON reports (client_id);
CREATE TRIGGER reports_keep BEFORE UPDATE ON reports BEGIN SELECT RAISE(ABORT, 'a report never changes'); END;
CREATE TRIGGER plans_stay BEFORE DELETE ON plans WHEN NOT EXISTS (
      SELECT 1 FROM erasures WHERE client_id = OLD.client_id AND begun_ms IS NOT NULL AND done_ms IS NULL)
      BEGIN SELECT RAISE(ABORT, 'an issued plan stays'); END;
CREATE TRIGGER records_stay BEFORE DELETE ON records WHEN NOT EXISTS (
      SELECT 1 FROM erasures WHERE client_id = OLD.client_id AND begun_ms IS NOT NULL AND done_ms IS NULL)
      BEGIN SELECT RAISE(ABORT, 'a record stays'); END;
CREATE INDEX assessments_by_client ON assessments (client_id, kind, subject);
CREATE TRIGGER assessments_keep BEFORE UPDATE ON assessments
      BEGIN SELECT RAISE(ABORT, 'an assessment never changes'); END;
CREATE TRIGGER assessments_stay BEFORE DELETE ON assessments WHEN NOT EXISTS (
      SELECT 1 FROM erasures WHERE client_id = OLD.client_id AND begun_ms IS NOT NULL AND done_ms IS NULL)
      BEGIN SELECT RAISE(ABORT, 'an assessment stays'); END;
CREATE INDEX rests_ended_by_client ON rests_ended (client_id);
CREATE TRIGGER rests_ended_keep BEFORE UPDATE ON rests_ended
      BEGIN SELECT RAISE(ABORT, 'that a rest was ended never changes'); END;
CREATE INDEX clients_by_therapist ON clients (therapist_id) WHERE archived_ms IS NULL;
CREATE TRIGGER caseload_record AFTER INSERT ON records
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
CREATE TRIGGER caseload_answer AFTER INSERT ON answers
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
CREATE TRIGGER caseload_plan AFTER INSERT ON plans
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
CREATE TRIGGER caseload_phone AFTER INSERT ON devices
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
CREATE TRIGGER caseload_heard AFTER UPDATE OF seen_ms, revoked_ms ON devices
      WHEN NEW.seen_ms / 900000 IS NOT OLD.seen_ms / 900000 OR NEW.revoked_ms IS NOT OLD.revoked_ms
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE client_id = NEW.client_id AND stale = 0; END;
CREATE TRIGGER caseload_clinic AFTER UPDATE OF details, time_zone ON clinic
      BEGIN UPDATE caseload_rows SET stale = 1 WHERE stale = 0; END;
CREATE INDEX pauses_by_client ON pauses (client_id);
CREATE UNIQUE INDEX devices_by_request ON devices (request_sha256) WHERE request_sha256 IS NOT NULL;
CREATE INDEX packs_by_id ON packs (pack_id);
CREATE INDEX audit_by_client ON audit (client_id, action);
COMMIT;
