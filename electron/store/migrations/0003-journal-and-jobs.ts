import type { Migration } from './index.ts';

/** `changes` is the history that undo and redo walk; `change_rows` holds each row before and after, as JSON. */
export const journalAndJobs: Migration = {
  number: 3,
  name: 'journal-and-jobs',
  sql: `
    CREATE TABLE changes (
      number INTEGER PRIMARY KEY AUTOINCREMENT,
      label TEXT NOT NULL,
      undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1)),
      made_at TEXT NOT NULL
    ) STRICT;
    CREATE TABLE change_rows (
      change INTEGER NOT NULL REFERENCES changes (number) ON DELETE CASCADE,
      seq INTEGER NOT NULL,
      table_name TEXT NOT NULL,
      row_id TEXT NOT NULL,
      before TEXT,
      after TEXT,
      PRIMARY KEY (change, seq)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE jobs (
      id TEXT PRIMARY KEY NOT NULL,
      wearer_id TEXT REFERENCES wearers (id),
      verb TEXT NOT NULL,
      request TEXT NOT NULL,
      state TEXT NOT NULL CHECK (state IN ('running', 'done', 'failed', 'cancelled', 'interrupted')),
      process_id INTEGER NOT NULL,
      sentence TEXT,
      started_at TEXT NOT NULL,
      ended_at TEXT
    ) STRICT;
    CREATE INDEX jobs_by_state ON jobs (state);
    CREATE INDEX jobs_of_wearer ON jobs (wearer_id);
  `,
};
