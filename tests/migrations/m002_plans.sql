BEGIN TRANSACTION;
CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
);
INSERT INTO "_sqlite_migrations" VALUES(1,'wattlebird','m001_practice','2026-11-25 01:41:30.691359+00:00');
INSERT INTO "_sqlite_migrations" VALUES(2,'wattlebird','m002_plans','2026-11-25 01:41:30.702874+00:00');
CREATE TABLE audit (
      id INTEGER PRIMARY KEY, at_ms INTEGER NOT NULL, user_id INTEGER, action TEXT NOT NULL, client_id INTEGER,
      detail TEXT NOT NULL, hash TEXT NOT NULL) STRICT;
INSERT INTO "audit" VALUES(1,1,1,'signed_in',NULL,'{"n": 1}','cca7400e81acd631f99209119be8f5b8613157ae36d2970abe8780bf050a8313');
INSERT INTO "audit" VALUES(2,2,1,'signed_in',NULL,'{"n": 2}','6e15bdda840ade1b244fff8f4554bcf3fd92d3247ca99e2764b8518d5a061745');
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
CREATE TABLE drafts (
      client_id INTEGER PRIMARY KEY REFERENCES clients(id), content TEXT NOT NULL, saved_ms INTEGER NOT NULL,
      saved_by INTEGER NOT NULL REFERENCES users(id)) STRICT;
INSERT INTO "drafts" VALUES(1,'{"hold_s": "half typed"}',10,1);
CREATE TABLE jobs (
      id INTEGER PRIMARY KEY, kind TEXT NOT NULL, subject_id INTEGER NOT NULL, state TEXT NOT NULL
        CHECK (state IN ('waiting','running','done','failed')),
      done_n INTEGER NOT NULL, of_n INTEGER NOT NULL, message TEXT NOT NULL, made_ms INTEGER NOT NULL,
        ended_ms INTEGER) STRICT;
INSERT INTO "jobs" VALUES(1,'make_pack',2,'done',4,4,'',14,15);
CREATE TABLE packs (
      plan_id INTEGER NOT NULL REFERENCES plans(id), release TEXT NOT NULL, pack_id TEXT NOT NULL,
        manifest TEXT NOT NULL,
      made_ms INTEGER NOT NULL, PRIMARY KEY (plan_id, release)) STRICT;
INSERT INTO "packs" VALUES(2,'0.1.0-a','aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa','{}',13);
CREATE TABLE plans (
      id INTEGER PRIMARY KEY, client_id INTEGER NOT NULL REFERENCES clients(id), version INTEGER NOT NULL,
      issued TEXT NOT NULL, note TEXT NOT NULL, issued_ms INTEGER NOT NULL,
        issued_by INTEGER NOT NULL REFERENCES users(id),
      UNIQUE (client_id, version)) STRICT;
INSERT INTO "plans" VALUES(1,1,1,'{"version": 1}','“shorter”',11,1);
INSERT INTO "plans" VALUES(2,1,2,'{"version": 2}','“shorter”',12,1);
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
CREATE TABLE stimulators (
      id INTEGER PRIMARY KEY, name TEXT NOT NULL, description TEXT NOT NULL, created_ms INTEGER NOT NULL,
      changed_ms INTEGER NOT NULL, archived_ms INTEGER) STRICT;
INSERT INTO "stimulators" VALUES(1,'Grey box','{"name": "Grey box"}',8,9,NULL);
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
CREATE TRIGGER plans_stay BEFORE DELETE ON plans BEGIN SELECT RAISE(ABORT, 'an issued plan stays'); END;
CREATE INDEX packs_by_id ON packs (pack_id);
COMMIT;
