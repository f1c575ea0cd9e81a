import type { Migration } from './index.ts';

export const wearersAndScans: Migration = {
  number: 1,
  name: 'wearers-and-scans',
  sql: `
    CREATE TABLE blobs (
      sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
      byte_count INTEGER NOT NULL CHECK (byte_count >= 0)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE blob_chunks (
      sha256 TEXT NOT NULL REFERENCES blobs (sha256) ON DELETE CASCADE,
      seq INTEGER NOT NULL CHECK (seq >= 0),
      stored BLOB NOT NULL,
      UNIQUE (sha256, seq)
    ) STRICT;
    CREATE TABLE wearers (
      id TEXT PRIMARY KEY NOT NULL,
      name TEXT NOT NULL,
      note TEXT,
      consent_note TEXT,
      consent_date TEXT,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE TABLE scans (
      id TEXT PRIMARY KEY NOT NULL,
      wearer_id TEXT NOT NULL REFERENCES wearers (id),
      file_name TEXT NOT NULL,
      byte_count INTEGER NOT NULL,
      original_sha256 TEXT NOT NULL REFERENCES blobs (sha256),
      health TEXT,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE INDEX scans_of_wearer ON scans (wearer_id);
    CREATE INDEX scans_of_blob ON scans (original_sha256);
    CREATE TABLE landmarks (
      id TEXT PRIMARY KEY NOT NULL,
      scan_id TEXT NOT NULL REFERENCES scans (id),
      name TEXT NOT NULL,
      point TEXT NOT NULL,
      origin TEXT NOT NULL CHECK (origin IN ('hand', 'guess', 'carried')),
      UNIQUE (scan_id, name)
    ) STRICT;
    CREATE TABLE readings (
      id TEXT PRIMARY KEY NOT NULL,
      wearer_id TEXT NOT NULL REFERENCES wearers (id),
      revision INTEGER NOT NULL CHECK (revision >= 1),
      kind TEXT NOT NULL CHECK (kind IN ('span', 'girth', 'arc')),
      name TEXT NOT NULL,
      value_mm REAL NOT NULL CHECK (value_mm > 0),
      uncertainty_mm REAL CHECK (uncertainty_mm > 0),
      instrument TEXT,
      taken_by TEXT,
      taken_on TEXT,
      replaces_id TEXT REFERENCES readings (id),
      withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
      created_at TEXT NOT NULL,
      UNIQUE (wearer_id, revision)
    ) STRICT;
    CREATE INDEX readings_replaced ON readings (replaces_id);
  `,
};
