import type { Form } from './sqlite.ts'

/** The tables of the logbook. Times are milliseconds since 1970. */
const first = `
CREATE TABLE sessions (
  key INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  kind TEXT NOT NULL,
  receiver_id TEXT,
  nickname TEXT,
  type_id TEXT,
  bench_name TEXT,
  port TEXT,
  dialect TEXT,
  image TEXT,
  recovers TEXT,
  plan TEXT,
  started_at INTEGER NOT NULL,
  ended_at INTEGER,
  ending TEXT,
  outcome TEXT,
  owner_pid INTEGER,
  owner_started TEXT,
  imported_at INTEGER,
  CHECK ((ended_at IS NULL) = (ending IS NULL))
) STRICT;
CREATE INDEX sessions_by_time ON sessions (started_at, key);
CREATE INDEX sessions_by_receiver ON sessions (receiver_id, started_at, key);
CREATE INDEX sessions_by_kind ON sessions (kind, started_at, key);
CREATE INDEX sessions_open ON sessions (started_at, key) WHERE ended_at IS NULL;

CREATE TABLE events (
  session INTEGER NOT NULL REFERENCES sessions (key),
  seq INTEGER NOT NULL,
  at INTEGER NOT NULL,
  event TEXT NOT NULL,
  PRIMARY KEY (session, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE findings (
  session INTEGER PRIMARY KEY REFERENCES sessions (key),
  id TEXT NOT NULL UNIQUE,
  at INTEGER NOT NULL,
  symptom TEXT NOT NULL,
  route TEXT NOT NULL,
  answers TEXT NOT NULL,
  tried TEXT NOT NULL,
  one_of INTEGER NOT NULL,
  withdrawn_at INTEGER
) STRICT;
CREATE TABLE finding_causes (
  finding INTEGER NOT NULL REFERENCES findings (session),
  place INTEGER NOT NULL,
  cause TEXT NOT NULL,
  PRIMARY KEY (finding, place)
) STRICT, WITHOUT ROWID;
`

export const JOURNAL_FORM: Form = {
  // "PFlb" in ASCII.
  applicationId: 0x50466c62,
  migrations: [first],
}
