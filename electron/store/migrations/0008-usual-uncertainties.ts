import type { Migration } from './index.ts';

/** What a reading is worth where nobody said, as set for this library. */
export const usualUncertainties: Migration = {
  number: 8,
  name: 'usual-uncertainties',
  sql: `
    CREATE TABLE usual_uncertainties (
      id TEXT PRIMARY KEY NOT NULL,
      kind TEXT NOT NULL UNIQUE,
      u_mm REAL NOT NULL CHECK (u_mm > 0),
      created_at TEXT NOT NULL
    ) STRICT;
  `,
};
